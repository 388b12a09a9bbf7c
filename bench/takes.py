"""Made takes of jazz comping, each with its exact truth, from a seed.

A take is a walk through chord sequences in random keys, comped with swung off-beats,
anticipations and rests, in 4/4 unless the style says otherwise. About half of all attacks
repeat the voicing before or move it by a step; low roots are sometimes touched after the
chord. Two tables of takes exist, told apart by `kind`: "listed" voicings come from
`theory.shapes`, "free" ones from no list (`bench.free_voicings`), single notes included. The
same seed gives the same take.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from bench.chord_cycles import WALKS, Step, WalkName
from bench.free_voicings import draw_free_voicing, is_playable
from bench.listed_voicings import ListedVoicer
from bench.performance import Planned, Touch, play
from bench.truth import AttackKind, TakeKind, TrueChord, TrueTake

LEAD_IN_S = 0.6
TAIL_S = 1.2
CLOSEST_ATTACKS_S = 0.16  # planned starts closer than this would be one gesture
ROOT_RANGE = (26, 45)

# Where a bar of comping is struck, in beats from 0; 3.5 and the like are anticipations of
# the next bar when that bar brings a new chord (common practice).
RHYTHMS = (
    (0.0, 1.5), (0.0, 2.5), (0.0,), (0.0, 2.0), (1.0, 3.0), (0.0, 1.5, 3.5), (0.5, 2.5),
    (1.5, 3.5), (0.0, 1.0, 2.0, 3.0), (0.0, 1.5, 2.5), (0.0, 3.5), (0.0, 0.5, 2.0, 3.5),
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Style:
    """What a take is made of, beyond its seed. low, high: limits of pitch.

    repeats: the chance that an attack repeats the voicing before; steps: that it moves it
    by a step. Listed voicings do so inside a chord only, unless `over_changes`.
    roots: the chance that a low root is touched after a chord that lasts.
    beats_per_bar and rhythms: the meter, and where its bars are struck; in 3/4 a chord lasts
    three beats where it would last up to four. walk: how the
    chords go (`bench.chord_cycles`).
    """

    kind: TakeKind
    low: int = 36
    high: int = 96
    repeats: float = 0.33
    steps: float = 0.20
    over_changes: bool = False
    roots: float = 0.3
    beats_per_bar: int = 4
    rhythms: tuple[tuple[float, ...], ...] = RHYTHMS
    walk: WalkName = "any key"


LISTED = Style(kind="listed", repeats=0.60, steps=0.25)
FREE = Style(kind="free")
PRACTISED = replace(LISTED, walk="practised")
TENSIONS_BY_WAY = replace(LISTED, walk="tensions by way")
REPEATED = Style(kind="listed", repeats=0.90, steps=0.05, over_changes=True)
LOW = Style(kind="free", low=24, high=60, roots=0.0)
HIGH = Style(kind="free", low=72, high=105, roots=0.0)


def make_take(seed: int, style: Style, *, duration_s: float = 40.0) -> TrueTake:
    """A take of about `duration_s` seconds (a little more: the last sound dies away)."""
    rng = np.random.default_rng([seed, 71])
    tempo = float(rng.uniform(66, 176))
    beat_s = 60.0 / tempo
    n_beats = max(4, int(duration_s / beat_s))
    places = list(_places(rng, style, n_beats, beat_s))
    plan = _plan(rng, places, style, beat_s)
    attacks, pedal = play(rng, plan, Touch.draw(rng))
    last = max(note.offset_s for attack in attacks for note in attack.notes)
    return TrueTake(
        name=f"{style.kind}-{seed}",
        attacks=attacks,
        beats_s=tuple(round(LEAD_IN_S + beat * beat_s, 4) for beat in range(n_beats)),
        beats_per_bar=style.beats_per_bar,
        tempo_bpm=tempo,
        pedal_s=pedal,
        duration_s=round(last + TAIL_S, 3),
    )


@dataclass(frozen=True, kw_only=True)
class _Place:
    """A place to strike at: the time, the chord that holds, whether it is new there."""

    time_s: float
    step: Step
    is_new: bool
    is_off_beat: bool


def _places(
    rng: np.random.Generator, style: Style, n_beats: int, beat_s: float
) -> Iterator[_Place]:
    """Where the take is struck; an off-beat just before a new chord anticipates it."""
    per_bar = style.beats_per_bar
    chords = _chord_per_beat(rng, style, n_beats + 1)
    swing = float(rng.uniform(0.5, 0.66))
    before: Step | None = None
    latest = -np.inf
    for bar in range(0, n_beats - per_bar + 1, per_bar):
        for place in style.rhythms[rng.integers(len(style.rhythms))]:
            beat, off = bar + int(place), place % 1
            step = chords[beat + 1] if off else chords[beat]
            time = LEAD_IN_S + (beat + (swing if off else 0.0)) * beat_s
            if time - latest >= CLOSEST_ATTACKS_S:
                yield _Place(
                    time_s=time, step=step, is_new=step is not before, is_off_beat=bool(off)
                )
                before, latest = step, time


def _chord_per_beat(rng: np.random.Generator, style: Style, beats: int) -> list[Step]:
    """The chord of every beat; cycles are written in 4/4 and keep their bars in other meters."""
    per_bar = style.beats_per_bar
    steps = WALKS[style.walk](rng, beats=2 * beats if per_bar != 4 else beats)
    lengths = (one.beats if per_bar == 4 else max(1, one.beats // 4) * per_bar for one in steps)
    return [step for step, length in zip(steps, lengths, strict=True) for _ in range(length)]


def _plan(
    rng: np.random.Generator, places: list[_Place], style: Style, beat_s: float
) -> list[Planned]:
    centre = float(rng.uniform(57, 69))
    listed = ListedVoicer(low=style.low, high=style.high, centre=centre)
    voicer = listed if style.kind == "listed" else None
    short = float(rng.uniform(0.1, 0.6))  # how often this player plays short
    phrase = _Phrase(depth=float(rng.uniform(3, 14)), period_s=float(rng.uniform(8, 20)))
    plan: list[Planned] = []
    for index, place in enumerate(places):
        after = places[index + 1].time_s if index + 1 < len(places) else place.time_s + 4 * beat_s
        gap = after - place.time_s
        chosen = _choose(rng, place, plan, voicer, style)
        length = min(gap, 0.5 * beat_s) if rng.random() < short else min(gap, 4 * beat_s)
        planned = replace(
            chosen,
            gap_s=gap,
            length_s=length * float(rng.uniform(0.6, 0.98)),
            accent=_accent(rng, place, phrase),
        )
        plan.extend(_with_root(rng, planned, style, beat_s))
    return plan


@dataclass(frozen=True, kw_only=True)
class _Phrase:
    """Slow swells: velocities rise and fall by `depth` over `period_s`."""

    depth: float
    period_s: float

    def swell(self, time_s: float) -> float:
        """What the swell adds to a velocity at a time."""
        return self.depth * float(np.sin(2 * np.pi * time_s / self.period_s))


def _accent(rng: np.random.Generator, place: _Place, phrase: _Phrase) -> float:
    """Velocity that an attack gains or loses: the swell, accents off the beat, ghosted chords."""
    accent = rng.uniform(0, 14) if place.is_off_beat else rng.normal(0, 6)
    if rng.random() < 0.1:
        accent -= rng.uniform(10, 25)
    return phrase.swell(place.time_s) + float(accent)


def _choose(
    rng: np.random.Generator,
    place: _Place,
    plan: list[Planned],
    voicer: ListedVoicer | None,
    style: Style,
) -> Planned:
    """The next voicing: the one before again, or moved by a step, or a new one."""
    earlier = [one for one in plan if one.kind != "root"]
    before = earlier[-1] if earlier else None
    draw = rng.random()
    may_stay = voicer is None or style.over_changes or not place.is_new
    if before and may_stay and draw < style.repeats:
        return replace(before, time_s=place.time_s, keep=())
    if before and may_stay and draw < style.repeats + style.steps:
        moved = _moved(rng, before, style)
        if moved and voicer is None:
            return replace(before, time_s=place.time_s, pitches=moved, keep=())
        if moved:  # a passing shape: the chord that it slides from is not what it spells
            return replace(before, time_s=place.time_s, pitches=moved, chord=None, keep=())
    pitches, chord = _fresh(rng, place, before, voicer, style)
    kind: AttackKind = "single" if len(pitches) == 1 else style.kind
    return Planned(
        time_s=place.time_s,
        gap_s=0,
        length_s=0,
        pitches=pitches,
        kind=kind,
        chord=chord,
        accent=0,
        keep=_kept(rng, pitches, plan),
    )


def _fresh(
    rng: np.random.Generator,
    place: _Place,
    before: Planned | None,
    voicer: ListedVoicer | None,
    style: Style,
) -> tuple[tuple[int, ...], TrueChord | None]:
    if voicer is None:
        return draw_free_voicing(rng, low=style.low, high=style.high), None
    return voicer.draw(rng, place.step, before.pitches if before else None)


def _moved(rng: np.random.Generator, before: Planned, style: Style) -> tuple[int, ...] | None:
    """The voicing before, slid by a half or whole step, or one of its voices moved."""
    step = int(rng.choice([-2, -1, 1, 2]))
    if rng.random() < 0.6 or len(before.pitches) < 3:
        pitches = tuple(pitch + step for pitch in before.pitches)
    else:
        voice = int(rng.integers(len(before.pitches)))
        moved = list(before.pitches)
        moved[voice] += step
        pitches = tuple(sorted(set(moved)))
    in_range = style.low <= pitches[0] and pitches[-1] <= style.high
    same_size = len(pitches) == len(before.pitches)
    return pitches if in_range and same_size and is_playable(pitches) else None


def _kept(
    rng: np.random.Generator, pitches: tuple[int, ...], plan: list[Planned]
) -> tuple[int, ...]:
    """Common tones that stay down: sometimes, and never the whole voicing."""
    if not plan or rng.random() > 0.2:
        return ()
    struck = set(plan[-1].pitches) - set(plan[-1].keep)
    common = tuple(sorted(struck & set(pitches)))
    return common if 0 < len(common) < len(pitches) else ()


def _with_root(
    rng: np.random.Generator, planned: Planned, style: Style, beat_s: float
) -> list[Planned]:
    """The attack, and now and then its root touched low after it, while the chord sounds."""
    if planned.gap_s < 2 * max(beat_s, 0.4) or rng.random() > style.roots:
        return [planned]
    root = planned.chord.root_pc if planned.chord else planned.pitches[0] % 12
    low = int(rng.integers(ROOT_RANGE[0], ROOT_RANGE[0] + 8))
    pitch = low + (root - low) % 12
    if pitch >= planned.pitches[0] or pitch > ROOT_RANGE[1]:
        return [planned]
    after = beat_s * float(rng.choice([0.5, 1.0])) if beat_s > 0.45 else beat_s
    touched = replace(
        planned,
        time_s=planned.time_s + after,
        gap_s=planned.gap_s - after,
        length_s=planned.gap_s - after - 0.05,
        pitches=(pitch,),
        kind="root",
        accent=-4.0,
        keep=(),
    )
    return [replace(planned, gap_s=after, length_s=max(planned.length_s, after * 0.9)), touched]
