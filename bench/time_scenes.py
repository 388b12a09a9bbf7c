"""Takes for judging the time: with clicks, a count, a band, alone, in three, slowing, free.

All are takes of `bench.takes`, on the instruments of one split, in a room. A take may be
warped: its attacks (and beats) moved along a curve of time; a passage of it may be out of time
(`Timed.free_s`). The beats of a take are empty where nobody counts: attacks then stand at
random distances. Seeds of the two splits never meet,
and are none of `bench.scenes`: tune on ``train``, quote on ``dev``.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from bench import conditions
from bench.company import bass_and_drums, speech
from bench.render import render_take
from bench.room_clicks import click_track
from bench.scenes import Studio
from bench.takes import LISTED, Style, make_take
from bench.truth import TrueAttack, TrueNote, TrueTake

FIRST_SEED = {"dev": 86_000, "train": 16_000}
COUNTED = 4  # clicks of a count-in
CLICK_DB = (-16.0, -2.0)  # a click's peak against the piano's
BAND_DB = (-12.0, -3.0)
DRIFT, SLOWING = 0.03, 0.35
# A final ritardando: tempo v of the pre-ritardando tempo at part x of its length, and the last
# tempo w: v = (1 + (w**q - 1) x) ** (1/q), q = 3 preferred by listeners (A. Friberg and
# J. Sundberg, J. Acoust. Soc. Am. 105, 1999; memory). w as in their recordings, 0.3 to 0.7.
RITARDANDO_Q, LAST_TEMPO, RITARDANDO_BARS = 3.0, (0.4, 0.7), 2
# Out of time: the logarithm of a beat's length wanders, and now and then a chord is waited on.
RUBATO_SPREAD, RUBATO_STAYS, WAITS = 0.30, 0.4, 0.12
RUBATO_BARS = (4, 8)

# Bars of a jazz waltz, in beats from 0 (common practice): one, the dotted-quarter pair,
# two and three, the anticipation of the next bar.
WALTZ = (
    (0.0,), (0.0, 1.0), (0.0, 1.5), (0.0, 2.0), (1.0, 2.0), (0.0, 1.0, 2.0), (0.0, 2.5),
    (0.0, 1.5, 2.5), (0.5, 1.5), (0.0, 1.5),
)  # fmt: skip
IN_THREE = replace(LISTED, beats_per_bar=3, rhythms=WALTZ)
ONE_A_BAR = replace(LISTED, rhythms=((0.0,),), repeats=0.1, steps=0.1, roots=0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class Timed:
    """One recording and what is true of its time.

    clicks_s: what was clicked, if anything. free_s: where it is played out of time.
    """

    take: TrueTake
    free_s: tuple[tuple[float, float], ...]
    clicks_s: tuple[float, ...]
    samples: np.ndarray
    rate_hz: int


@dataclass(frozen=True, kw_only=True)
class Warped:
    """A take, moved in time. free_s: where it is played out of time."""

    take: TrueTake
    free_s: tuple[tuple[float, float], ...] = ()


Warp = Callable[[np.random.Generator, TrueTake], Warped]
Company = Callable[
    [np.random.Generator, np.ndarray, TrueTake, Studio], tuple[np.ndarray, tuple[float, ...]]
]


@dataclass(frozen=True, kw_only=True)
class TimeScene:
    """A row of the table. hints: what the player is taken to say (see `bench.time`)."""

    name: str
    style: Style = LISTED
    warp: Warp
    company: Company
    hints: tuple[str, ...] = ()
    like: str = ""  # the scene whose recordings it shares


def record(scene: TimeScene, studio: Studio, *, takes: int, duration_s: float) -> Iterator[Timed]:
    """The recordings of a scene, each from its own seed."""
    for index in range(takes):
        seed = FIRST_SEED[studio.split] + index
        rng = np.random.default_rng([seed, crc32((scene.like or scene.name).encode())])
        warped = scene.warp(rng, make_take(seed, scene.style, duration_s=duration_s))
        take = warped.take
        instrument = studio.instrument(rng, "piano" if rng.random() < 0.75 else "electric_piano")
        sound = render_take(
            take, instrument, rate_hz=studio.rate_hz, detune_cents=float(rng.uniform(-12, 12))
        )
        sound, clicks = scene.company(rng, conditions.levelled(sound), take, studio)
        sound = conditions.room(rng, sound, studio.rate_hz)
        peak = 10 ** (float(rng.uniform(-20, -1)) / 20)
        yield Timed(
            take=take,
            free_s=warped.free_s,
            clicks_s=clicks,
            samples=conditions.levelled(sound, peak=peak),
            rate_hz=studio.rate_hz,
        )


# ---- warps


def moved(take: TrueTake, curve: Callable[[np.ndarray], np.ndarray]) -> TrueTake:
    """The take with every time on a rising curve of time (seconds to seconds)."""

    def at(time_s: float) -> float:
        return round(float(curve(np.array([time_s]))[0]), 4)

    def note(one: TrueNote) -> TrueNote:
        return replace(
            one, onset_s=at(one.onset_s), key_up_s=at(one.key_up_s), offset_s=at(one.offset_s)
        )

    attacks: tuple[TrueAttack, ...] = tuple(
        replace(one, notes=tuple(map(note, one.notes))) for one in take.attacks
    )
    beats = tuple(map(at, take.beats_s))
    played = [beat for beat in beats if attacks[0].onset_s <= beat <= attacks[-1].onset_s]
    return replace(
        take,
        attacks=attacks,
        beats_s=beats,
        tempo_bpm=60.0 / float(np.median(np.diff(played))),
        pedal_s=tuple((at(start), at(end)) for start, end in take.pedal_s),
        duration_s=at(take.duration_s),
    )


def as_played(rng: np.random.Generator, take: TrueTake) -> Warped:
    """Nothing moved."""
    return Warped(take=take)


def after_count(rng: np.random.Generator, take: TrueTake) -> Warped:
    """The take begins after a bar that is counted."""
    count_s = COUNTED * 60.0 / take.tempo_bpm
    return Warped(take=moved(take, lambda times: times + count_s))


def breathing(rng: np.random.Generator, take: TrueTake) -> Warped:
    """A tempo that drifts by some per cent, and slows down over the last four bars."""
    turns, phase = float(rng.uniform(16, 48)), float(rng.uniform(0, 2 * np.pi))
    index = np.arange(len(take.beats_s))
    slowing = SLOWING * np.clip((index - (len(index) - 16)) / 16, 0, 1)
    drift = DRIFT * np.sin(2 * np.pi * index / turns + phase)
    return Warped(take=_with_lengths(take, (1 + drift) * (1 + slowing)))


def ritardando(rng: np.random.Generator, take: TrueTake) -> Warped:
    """A steady tempo that slows down over the last two bars that are played."""
    last = int(np.searchsorted(take.beats_s, take.attacks[-1].onset_s + 0.01))
    length = RITARDANDO_BARS * take.beats_per_bar
    part = np.clip((np.arange(len(take.beats_s)) + 0.5 - (last - length)) / length, 0, 1)
    slowest = float(rng.uniform(*LAST_TEMPO)) ** RITARDANDO_Q
    return Warped(take=_with_lengths(take, (1 + (slowest - 1) * part) ** (-1 / RITARDANDO_Q)))


def rubato_inside(rng: np.random.Generator, take: TrueTake) -> Warped:
    """Some bars in the middle are out of time; then the tempo is taken up again."""
    per_bar, bars = take.beats_per_bar, len(take.beats_s) // take.beats_per_bar
    length = int(rng.integers(RUBATO_BARS[0], min(RUBATO_BARS[1], bars // 3) + 1))
    start = int(rng.integers(bars // 3, bars - bars // 3 - length + 1))
    return _out_of_time(rng, take, start * per_bar, (start + length) * per_bar)


def rubato_before(rng: np.random.Generator, take: TrueTake) -> Warped:
    """The take begins out of time; then a tempo is taken up."""
    bars = len(take.beats_s) // take.beats_per_bar
    length = int(rng.integers(RUBATO_BARS[0], min(RUBATO_BARS[1], bars // 2) + 1))
    return _out_of_time(rng, take, 0, length * take.beats_per_bar)


def free(rng: np.random.Generator, take: TrueTake) -> Warped:
    """No pulse: the same chords at random distances, 0.3 to 3 s."""
    onsets = np.array([one.onset_s for one in take.attacks])
    gaps = np.exp(rng.uniform(np.log(0.3), np.log(3.0), len(onsets)))
    new = np.concatenate(([0.0], onsets[0] + np.cumsum(gaps), [0.0]))
    new[-1] = new[-2] + 5.0
    old = np.concatenate(([0.0], onsets, [onsets[-1] + 5.0]))
    played = moved(take, lambda times: np.interp(times, old, new))
    return Warped(take=replace(played, beats_s=()))


def _out_of_time(rng: np.random.Generator, take: TrueTake, first: int, last: int) -> Warped:
    """Beats `first` to `last` made longer and shorter; the tempo is that of the others."""
    lengths, log = np.ones(len(take.beats_s)), 0.0
    for beat in range(first, min(last, len(lengths))):
        fresh = float(rng.normal(0, RUBATO_SPREAD * np.sqrt(1 - RUBATO_STAYS**2)))
        log = RUBATO_STAYS * log + fresh
        lengths[beat] = np.exp(log) * (2.0 if rng.random() < WAITS else 1.0)
    played = _with_lengths(take, lengths)
    free_s = (played.beats_s[first], played.beats_s[min(last, len(played.beats_s) - 1)])
    return Warped(take=replace(played, tempo_bpm=take.tempo_bpm), free_s=(free_s,))


def _with_lengths(take: TrueTake, lengths: np.ndarray) -> TrueTake:
    """The take with each beat's length multiplied; before and after as at its ends."""
    beat_s, n_beats = 60.0 / take.tempo_bpm, len(lengths)
    around = np.concatenate((np.full(4, lengths[0]), lengths, np.full(16, lengths[-1])))
    old = take.beats_s[0] + np.arange(-4, n_beats + 16) * beat_s
    new = old[0] + np.concatenate(([0.0], np.cumsum(beat_s * around)[:-1]))
    lead_s = take.beats_s[0] - float(np.interp(take.beats_s[0], old, new))
    return moved(take, lambda times: np.interp(times, old, new + lead_s))


# ---- who else sounds


def alone(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> tuple[np.ndarray, tuple[float, ...]]:
    """Nobody."""
    return sound, ()


def _clicked(which: Callable[[TrueTake], list[tuple[float, bool]]]) -> Company:
    def company(
        rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
    ) -> tuple[np.ndarray, tuple[float, ...]]:
        clicks = which(take)
        times = np.array([time_s for time_s, _ in clicks])
        accents = np.array([accent for _, accent in clicks]) & (rng.random() < 0.5)
        track = click_track(rng, times, accents, len(sound), studio.rate_hz)
        gain = conditions.PEAK * 10 ** (float(rng.uniform(*CLICK_DB)) / 20)
        return sound + np.float32(gain) * track, tuple(map(float, times))

    return company


def _every_beat(take: TrueTake) -> list[tuple[float, bool]]:
    return [(beat, i % take.beats_per_bar == 0) for i, beat in enumerate(take.beats_s)]


def _two_and_four(take: TrueTake) -> list[tuple[float, bool]]:
    return [(beat, False) for beat in take.beats_s[1::2]]


def _count(take: TrueTake) -> list[tuple[float, bool]]:
    beat_s = 60.0 / take.tempo_bpm
    return [(take.beats_s[0] - (COUNTED - i) * beat_s, False) for i in range(COUNTED)]


def band(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> tuple[np.ndarray, tuple[float, ...]]:
    """A walking bass and drums."""
    bass, drums = studio.instrument(rng, "bass"), studio.instrument(rng, "drums")
    company = bass_and_drums(rng, take, bass, drums, rate_hz=studio.rate_hz)
    return conditions.mixed(sound, company, level_db=float(rng.uniform(*BAND_DB))), ()


def talk(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> tuple[np.ndarray, tuple[float, ...]]:
    """Somebody talks over it."""
    voice = speech(rng, len(sound), studio.rate_hz)
    return conditions.mixed(sound, voice, level_db=-10.0), ()


click, two_and_four, count = map(_clicked, (_every_beat, _two_and_four, _count))

SCENES: tuple[TimeScene, ...] = (
    TimeScene(name="click on every beat", warp=as_played, company=click),
    TimeScene(name="click on two and four", warp=as_played, company=two_and_four),
    TimeScene(name="count-in of four clicks", warp=after_count, company=count),
    TimeScene(name="bass and drums", warp=as_played, company=band),
    TimeScene(name="solo", warp=as_played, company=alone),
    TimeScene(name="solo, tempo given", warp=as_played, company=alone, hints=("tempo",),
              like="solo"),
    TimeScene(name="solo, tempo and first beat given", warp=as_played, company=alone,
              hints=("tempo", "first beat"), like="solo"),
    TimeScene(name="solo in three", style=IN_THREE, warp=as_played, company=alone),
    TimeScene(name="solo, drifting and slowing", warp=breathing, company=alone),
    TimeScene(name="solo, ritardando", warp=ritardando, company=alone),
    TimeScene(name="solo, rubato inside", warp=rubato_inside, company=alone),
    TimeScene(name="solo, rubato before", warp=rubato_before, company=alone),
    TimeScene(name="solo, somebody talks", warp=as_played, company=talk),
    TimeScene(name="one attack a bar", style=ONE_A_BAR, warp=as_played, company=alone),
    TimeScene(name="no pulse", warp=free, company=alone),
)  # fmt: skip
