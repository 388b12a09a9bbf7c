"""The attacks that are in time, run by run, each with its beats; what lies between is out of time.

A run's beats reach from at or before its first attack to after its last. It needs some attacks to
show a pulse, unless the tempo was told.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stackline.listen.time.bar_pointer import Path, Stretch
from stackline.shared.notes import Passage

FEWEST = 8  # attacks: fewer show no pulse, unless the tempo is known
_MARGIN_S = 0.02  # of a passage out of time, round its attacks
_SILENT_S = 0.05  # by how much a beat must come after what is out of time, and before it
_EARLY_S = 0.05  # by how much an attack may come before the beat that it belongs to


@dataclass(frozen=True, kw_only=True, eq=False)
class Run:
    """Attacks `first` to `last` and their beats; start: the number of the first beat, from 0."""

    first: int
    last: int
    beats_s: np.ndarray
    start: int


def places_on(beats_s: np.ndarray, times_s: np.ndarray) -> np.ndarray:
    """Times (n,) as places on beats (n_beats,), 0.5 halfway to the second, and beyond: (n,)."""
    places = np.interp(times_s, beats_s, np.arange(len(beats_s)))
    first, last = beats_s[1] - beats_s[0], beats_s[-1] - beats_s[-2]
    early, late = np.minimum(times_s - beats_s[0], 0.0), np.maximum(times_s - beats_s[-1], 0.0)
    at: np.ndarray = places + early / first + late / last
    return at


def runs_of(path: Path, times_s: np.ndarray, *, fewest: int, one_s: float | None) -> list[Run]:
    """The runs of a path, in order.

    times_s: of attacks, (n,). one_s: a downbeat that is known, played or not.
    """
    found: list[Run] = []
    for stretch in path.stretches:
        begins = found[-1].last + 1 if found else 0
        run = _run(stretch, times_s, begins, one_s)
        if run is not None and run.last - run.first + 1 >= fewest:
            found.append(run)
    if one_s is not None and found:
        off_s = [max(run.beats_s[0] - one_s, one_s - run.beats_s[-1], 0.0) for run in found]
        nearest = int(np.argmin(off_s))
        found[nearest] = _led_in(found[nearest], one_s)
    return found


def _run(stretch: Stretch, times_s: np.ndarray, begins: int, one_s: float | None) -> Run | None:
    beats_s, end_s = stretch.time_s, stretch.time_s[-1]
    inside = np.flatnonzero((times_s > beats_s[0] - _EARLY_S) & (times_s < end_s + _EARLY_S))
    beats_s = np.append(beats_s, 2 * end_s - beats_s[-2])
    inside = inside[inside >= begins]
    if not len(inside):
        return None
    first, last = int(inside[0]), int(inside[-1])
    from_s = times_s[first] if one_s is None or first else min(times_s[first], one_s)
    low = max(0, int(np.searchsorted(beats_s, from_s + _EARLY_S)) - 1)
    high = int(np.searchsorted(beats_s, times_s[last] + _EARLY_S)) + 1
    kept = np.arange(low, min(high, len(beats_s)))
    before_s = times_s[first - 1] if first else -2 * _SILENT_S
    after_s = times_s[last + 1] if last + 1 < len(times_s) else np.inf
    some_s = beats_s[kept]
    kept = kept[(some_s > before_s + _SILENT_S) & (some_s < after_s - _SILENT_S)]
    if len(kept) < 2:
        return None
    return Run(
        first=first,
        last=last,
        beats_s=np.maximum(beats_s[kept], 0.0),
        start=stretch.start + int(kept[0]),
    )


def _led_in(run: Run, one_s: float) -> Run:
    """The run counted so that a known moment is a downbeat, from there if nothing is played there.

    The moment may lie on a half beat: all beats are then moved by half a beat.
    """
    beats_s = run.beats_s
    at = round(2 * float(places_on(beats_s, np.array([one_s]))[0])) / 2
    if at % 1:
        half_s = (beats_s[1:] + beats_s[:-1]) / 2
        first_s, last_s = 2 * beats_s[0] - half_s[0], 2 * beats_s[-1] - half_s[-1]
        beats_s, at = np.concatenate(([first_s], half_s, [last_s])), at + 0.5
    period_s, count = beats_s[1] - beats_s[0], max(0, -round(at))
    beats_s = np.concatenate((beats_s[0] - period_s * np.arange(count, 0, -1), beats_s))
    start, kept = -round(at + count), beats_s > -_SILENT_S
    return replace(run, beats_s=np.maximum(beats_s[kept], 0.0), start=start + int(np.argmax(kept)))


def passages(runs: Sequence[Run], times_s: np.ndarray) -> tuple[Passage, ...]:
    """Where attacks, at times_s (n,), are in no run, between the runs and at either end."""
    found, first = [], 0
    for run in [*runs, None]:
        after = run.first if run else len(times_s)
        if after > first:
            start_s, end_s = times_s[first] - _MARGIN_S, times_s[after - 1] + _MARGIN_S
            found.append(Passage(start_s=round(max(0.0, start_s), 4), end_s=round(float(end_s), 4)))
        first = run.last + 1 if run else after
    return tuple(found)
