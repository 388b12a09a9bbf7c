"""Made practice takes: a target through keys, with faults planted on purpose, from a seed.

Each take is one target of the built-in set, played in some keys in some order at some tempo,
with the human timing, pedal and rolls of `bench.performance`, chords struck again, low roots
touched and lone notes between passes. Some passes carry one planted fault. What was planted
is written down beside the notes, in the words that a reviewer should use:

    wrong note           one note of a voicing moved by 1 to 3 semitones out of its chord
    missing guide tone   a 3 or 7 left out
    did not resolve      in the tonic's voicing, something stands where a tension is due
    late resolution      the tonic first comes with the tension (or guide tone) still in it
    other octave         a whole voicing an octave away
    other order          the lowest note put on top, or the highest at the bottom
    hesitation           1.5 to 3 beats of waiting before the tonic
    false start          the first chords, a wait, then the pass from the beginning
    repeated key         the pass once more (nothing is wrong; two passes must be found)

No fault is planted where two names for it would be equally right (a wrong note where a
tension lands is called by its tension). Places of notes come from the target's own record.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from bench.performance import Planned, Touch, play
from bench.truth import TrueChord, TrueTake
from practice.landings import is_cadence
from practice.target_file import built_in
from practice.targets import Target
from theory.degrees import pitch_class
from theory.resolution_rules import shifts_due

LEAD_IN_S, TAIL_S = 0.8, 1.5
LOWEST, HIGHEST = 40, 88
KINDS = ("wrong note", "missing guide tone", "did not resolve", "late resolution",
         "other octave", "other order", "hesitation", "false start", "repeated key")  # fmt: skip
GUIDES = ("b3", "3", "4", "b7", "7", "bb7")
FAULTY = 0.6  # of all passes


@dataclass(frozen=True, kw_only=True)
class PlantedFault:
    """kind: as above. chord: index in the target; degree as a reviewer should name it."""

    kind: str
    chord: int
    degree: str | None


@dataclass(frozen=True, kw_only=True)
class TruePass:
    """One time through, or a false start (finished False) of `reached` chords."""

    key: int
    start_s: float
    finished: bool
    reached: int
    fault: PlantedFault | None


@dataclass(frozen=True, kw_only=True)
class PractisedTake:
    """A take, the target that it practises and what happens in it."""

    target: Target
    take: TrueTake
    passes: tuple[TruePass, ...]


@dataclass
class _Player:
    """Where the hands and the clock are while a take is planned."""

    rng: np.random.Generator
    target: Target
    beat_s: float
    time_s: float
    plan: list[Planned]
    passes: list[TruePass]


def make_practised(seed: int, *, keys: int = 7) -> PractisedTake:
    """A practice take of about `keys` passes; equal seeds give equal takes."""
    rng = np.random.default_rng([seed, 907])
    targets = [one for one in built_in() if one.has_stacks]
    target = targets[int(rng.integers(len(targets)))]
    beat_s = 60.0 / float(rng.uniform(72, 168))
    player = _Player(rng, target, beat_s, LEAD_IN_S, [], [])
    for key in rng.choice(12, size=keys, replace=False):
        _one_key(player, int(key))
    attacks, pedal = play(rng, player.plan, Touch.draw(rng))
    last = max(note.offset_s for attack in attacks for note in attack.notes)
    n_beats = int((last - LEAD_IN_S) / beat_s) + 1
    take = TrueTake(
        name=f"practised-{seed}",
        attacks=attacks,
        beats_s=tuple(round(LEAD_IN_S + i * beat_s, 4) for i in range(n_beats)),
        beats_per_bar=4,
        tempo_bpm=60.0 / beat_s,
        pedal_s=pedal,
        duration_s=round(last + TAIL_S, 3),
    )
    return PractisedTake(target=target, take=take, passes=tuple(player.passes))


def _one_key(player: _Player, key: int) -> None:
    """A pass in a key, perhaps with a fault, perhaps begun twice or played twice."""
    rng = player.rng
    rows = _rows(player.target, key, rng)
    kind = str(rng.choice(KINDS)) if rng.random() < FAULTY else ""
    if kind == "false start" and len(rows) > 1:
        reached = int(rng.integers(1, len(rows)))
        _play(player, key, rows[:reached], None, reached=reached)
        player.time_s += float(rng.uniform(1.5, 4.0)) * player.beat_s
    planted = _plant(player.target, rows, kind, rng)
    _play(player, key, planted.rows, planted)
    _between(player)
    if kind == "repeated key":
        _play(player, key, rows, None)
        _between(player)


def _rows(target: Target, key: int, rng: np.random.Generator) -> list[tuple[int, ...]]:
    """The target's pitches in a key, in one of the octaves that suit two hands."""
    fitting = []
    for octave in range(10):
        rows = [tuple(p + key + 12 * octave for p in row) for row in target.places]
        every = [p for row in rows for p in row]
        if min(every) >= LOWEST and max(every) <= HIGHEST:
            fitting.append((abs(sum(every) / len(every) - 60), rows))
    fitting.sort(key=lambda one: one[0])
    if not fitting:
        raise ValueError(f"{target.name} does not fit between {LOWEST} and {HIGHEST}")
    return fitting[int(rng.integers(min(2, len(fitting))))][1]


@dataclass(frozen=True, kw_only=True)
class _Planted:
    """Rows with a fault in them; late: what the row at that index becomes afterwards."""

    rows: list[tuple[int, ...]]
    fault: PlantedFault | None = None
    late: tuple[int, tuple[int, ...]] | None = None
    wait_after: int | None = None


def _plant(
    target: Target, rows: list[tuple[int, ...]], kind: str, rng: np.random.Generator
) -> _Planted:
    """Put one fault of a kind into a pass, or none where the target gives no place for it."""
    makers = {
        "wrong note": _wrong, "missing guide tone": _missing, "did not resolve": _unresolved,
        "late resolution": _late, "other octave": _octave, "other order": _order,
        "hesitation": _hesitation,
    }  # fmt: skip
    if kind not in makers:
        return _Planted(rows=rows)
    places = makers[kind](target, rows)
    return places[int(rng.integers(len(places)))] if places else _Planted(rows=rows)


def _cadences(target: Target) -> list[int]:
    pairs = enumerate(pairwise(target.chords))
    return [j for j, (a, b) in pairs if is_cadence(a, b)]


def _tension_steps(target: Target, rows: list[tuple[int, ...]]) -> list[tuple[int, str, int, int]]:
    """(dominant, degree, note index there, note index in the tonic) of smooth resolutions.

    A degree goes to the one note of the tonic that lies one or two semitones away, if
    theory's table has that way for it; places where two notes of the dominant are near one
    goal, or where a goal is doubled, are left out.
    """
    found = []
    for j in _cadences(target):
        here, there = target.chords[j], target.chords[j + 1]
        step = (there.offset - here.offset) % 12
        due = shifts_due(here.row.family, there.row.family, step)
        goals: dict[int, list[int]] = {}
        for i, pitch in enumerate(rows[j]):
            for k, goal in enumerate(rows[j + 1]):
                if abs(goal - pitch) <= 2:
                    goals.setdefault(k, []).append(i)
        classes = [p % 12 for p in rows[j + 1]]
        for k, sources in goals.items():
            i, degree = sources[0], here.degrees[sources[0]]
            way = rows[j + 1][k] - rows[j][i]
            alone = len(sources) == 1 and sum(i in one for one in goals.values()) == 1
            if alone and way and way in due.get(degree, ()) and classes.count(classes[k]) == 1:
                found.append((j, degree, i, k))
    return found


def _changed(row: tuple[int, ...], index: int, pitch: int) -> tuple[int, ...] | None:
    """A row with one note replaced; None unless it stays in its place between neighbours."""
    new = (*row[:index], pitch, *row[index + 1 :])
    rising = all(a < b for a, b in pairwise(new))
    return new if rising and pitch % 12 not in {p % 12 for p in row} else None


def _with(rows: list[tuple[int, ...]], j: int, row: tuple[int, ...]) -> list[tuple[int, ...]]:
    return [*rows[:j], row, *rows[j + 1 :]]


def _wrong(target: Target, rows: list[tuple[int, ...]]) -> list[_Planted]:
    due = {(j + 1, k) for j, _, _, k in _tension_steps(target, rows)}
    after_cadence = {j + 1 for j in _cadences(target)}
    found = []
    for j, row in enumerate(rows):
        chord_classes = {
            (pitch_class(d) + row[0] - pitch_class(target.chords[j].degrees[0])) % 12
            for d in target.chords[j].row.degrees
        }
        for i, pitch in enumerate(row):
            degree = target.chords[j].degrees[i]
            if (j, i) in due or (j in after_cadence and degree not in GUIDES):
                continue
            for step in (-3, -2, -1, 1, 2, 3):
                new = _changed(row, i, pitch + step)
                if new and (pitch + step) % 12 not in chord_classes:
                    fault = PlantedFault(kind="wrong note", chord=j, degree=degree)
                    found.append(_Planted(rows=_with(rows, j, new), fault=fault))
    return found


def _missing(target: Target, rows: list[tuple[int, ...]]) -> list[_Planted]:
    found = []
    for j, row in enumerate(rows):
        chord = target.chords[j]
        for i, degree in enumerate(chord.degrees):
            guide = degree in chord.guide_tones and chord.degrees.count(degree) == 1
            if guide and len(row) >= 3:
                fault = PlantedFault(kind="missing guide tone", chord=j, degree=degree)
                found.append(_Planted(rows=_with(rows, j, row[:i] + row[i + 1 :]), fault=fault))
    return found


def _unresolved(target: Target, rows: list[tuple[int, ...]]) -> list[_Planted]:
    found = []
    for j, degree, i, k in _tension_steps(target, rows):
        if degree in GUIDES or degree in ("R", "5"):
            continue
        goal = rows[j + 1][k]
        for pitch in {rows[j][i], goal - 2, goal + 2, goal - 1, goal + 1}:
            new = _changed(rows[j + 1], k, pitch)
            if new:
                fault = PlantedFault(kind="did not resolve", chord=j, degree=degree)
                found.append(_Planted(rows=_with(rows, j + 1, new), fault=fault))
    return found


def _late(target: Target, rows: list[tuple[int, ...]]) -> list[_Planted]:
    found = []
    for j, degree, i, k in _tension_steps(target, rows):
        new = _changed(rows[j + 1], k, rows[j][i])
        told_apart = new is not None and not {p % 12 for p in new} <= {p % 12 for p in rows[j]}
        if new and told_apart and degree not in ("R", "5"):
            fault = PlantedFault(kind="late resolution", chord=j, degree=degree)
            late = (j + 1, rows[j + 1])
            found.append(_Planted(rows=_with(rows, j + 1, new), fault=fault, late=late))
    return found


def _octave(target: Target, rows: list[tuple[int, ...]]) -> list[_Planted]:
    found = []
    for j in range(1, len(rows)):
        for step in (-12, 12):
            new = tuple(p + step for p in rows[j])
            if len(rows) > 1 and min(new) >= LOWEST - 6 and max(new) <= HIGHEST + 6:
                fault = PlantedFault(kind="other octave", chord=j, degree=None)
                found.append(_Planted(rows=_with(rows, j, new), fault=fault))
    return found


def _order(target: Target, rows: list[tuple[int, ...]]) -> list[_Planted]:
    found = []
    for j, row in enumerate(rows):
        for new in ((*row[1:], row[0] + 12), (row[-1] - 12, *row[:-1])):
            same_row = [p % 12 for p in new] == [p % 12 for p in row]
            rising = all(a < b for a, b in pairwise(new))
            if rising and not same_row and len(row) > 1:
                fault = PlantedFault(kind="other order", chord=j, degree=None)
                found.append(_Planted(rows=_with(rows, j, new), fault=fault))
    return found


def _hesitation(target: Target, rows: list[tuple[int, ...]]) -> list[_Planted]:
    if len(rows) < 3:
        return []
    return [
        _Planted(
            rows=rows, fault=PlantedFault(kind="hesitation", chord=j, degree=None), wait_after=j
        )
        for j in _cadences(target)
    ]


def _play(
    player: _Player, key: int, rows: list[tuple[int, ...]], planted: _Planted | None,
    *, reached: int | None = None,
) -> None:  # fmt: skip
    """Plan the attacks of a pass, and write it down."""
    rng, start = player.rng, player.time_s
    for j, row in enumerate(rows):
        beats = float(player.target.beats[j])
        wait = float(rng.uniform(1.5, 3.0)) if planted and planted.wait_after == j else 0.0
        length = (beats + wait) * player.beat_s
        late = planted.late[1] if planted and planted.late and planted.late[0] == j else None
        _play_chord(player, key, j, row, length, late)
        player.time_s += length
    player.passes.append(
        TruePass(
            key=key,
            start_s=start,
            finished=reached is None,
            reached=len(rows),
            fault=planted.fault if planted else None,
        )
    )


def _play_chord(
    player: _Player, key: int, j: int, row: tuple[int, ...], length_s: float,
    late: tuple[int, ...] | None,
) -> None:  # fmt: skip
    """One chord: struck, and perhaps put right late, struck again, or given a low root."""
    rng, chord = player.rng, player.target.chords[j]
    first = Planned(
        time_s=player.time_s,
        gap_s=length_s,
        length_s=length_s * float(rng.uniform(0.75, 0.97)),
        pitches=row,
        kind="listed",
        chord=TrueChord(root_pc=chord.root_pc(key), quality=chord.quality),
        accent=0.0,
    )
    draw = rng.random()
    if late is not None:
        after = min(float(rng.uniform(0.5, 1.5)) * player.beat_s, 0.6 * length_s)
        _strike_twice(player, first, late, after, keep=rng.random() < 0.5)
    elif draw < 0.15 and length_s > 1.2:
        _strike_twice(player, first, row, length_s * 0.5, keep=False)
    elif draw < 0.25 and length_s > 1.2:
        root = 28 + (chord.root_pc(key) - 28) % 12
        player.plan.append(replace(first, gap_s=length_s / 2))
        player.plan.append(
            replace(first, time_s=first.time_s + length_s / 2, gap_s=length_s / 2,
                    length_s=length_s / 2, pitches=(root,), kind="root", accent=-4.0)
        )  # fmt: skip
    else:
        player.plan.append(first)


def _strike_twice(
    player: _Player, first: Planned, again: tuple[int, ...], after_s: float, *, keep: bool
) -> None:
    """The chord, then its second form; keep: common notes stay down under the second."""
    common = tuple(sorted(set(first.pitches) & set(again))) if keep else ()
    rest = first.gap_s - after_s
    length = first.length_s if keep else after_s * 0.9
    player.plan.append(replace(first, gap_s=after_s, length_s=min(length, after_s * 0.95)))
    player.plan.append(
        replace(first, time_s=first.time_s + after_s, gap_s=rest, length_s=rest * 0.9,
                pitches=again, keep=common)
    )  # fmt: skip


def _between(player: _Player) -> None:
    """A breath between passes; now and then a lone note in it."""
    rng = player.rng
    pause = float(rng.uniform(0.0, 4.0)) * player.beat_s
    if pause > 0.8 and rng.random() < 0.3:
        pitch = int(rng.integers(60, 80))
        player.plan.append(
            Planned(time_s=player.time_s + 0.3, gap_s=pause - 0.3, length_s=0.3, pitches=(pitch,),
                    kind="single", chord=None, accent=0.0)
        )  # fmt: skip
    player.time_s += pause
