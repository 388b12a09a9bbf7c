"""The runs of attacks that are in time, each with its beats; what lies between is out of time.

A run begins on the beat at or before its first attack, after the last attack out of time. It
needs some attacks to show a pulse, unless the player told the tempo.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stackline.listen.time.bar_places import Strikes, rotation_scores
from stackline.listen.time.without_clicks.beat_line import beat_line
from stackline.listen.time.without_clicks.place_path import PlacePath
from stackline.shared.notes import Passage

FEWEST = 8  # attacks: fewer show no pulse, unless the tempo is known
_MARGIN_S = 0.02  # of a passage out of time, round its attacks
_SILENT_S = 0.05  # by how much a beat must come after what is out of time, and before it


@dataclass(frozen=True, kw_only=True, eq=False)
class Run:
    """Attacks `first` to `last` and their beats.

    beats_s: (n,), times. start: where beats_s[0] stands, in beats from a downbeat.
    """

    first: int
    last: int
    beats_s: np.ndarray
    start: int

    def moved(self, beats: float) -> "Run":
        """Every beat so much earlier in the count; a half moves the beats to their halves."""
        if beats % 1.0:
            half_s = (self.beats_s[1:] + self.beats_s[:-1]) / 2
            end_s = 2 * self.beats_s[-1] - half_s[-1]
            return replace(
                self, beats_s=np.append(half_s, end_s), start=self.start + round(0.5 - beats)
            )
        return replace(self, start=self.start - round(beats))


def runs_of(path: PlacePath, strikes: Strikes, *, fewest: int = FEWEST) -> list[Run]:
    """The runs of a path, in order."""
    found = []
    for number in range(int(path.stretch.max(initial=-1)) + 1):
        inside = np.flatnonzero(path.stretch == number)
        before_s = strikes.time_s[inside[0] - 1] if inside[0] else -np.inf
        after = inside[-1] + 1
        after_s = strikes.time_s[after] if after < len(strikes.time_s) else np.inf
        run = _drawn(path, strikes, inside, float(before_s), float(after_s))
        if run is not None and run.last - run.first + 1 >= fewest:
            found.append(run)
    return found


def _drawn(
    path: PlacePath, strikes: Strikes, inside: np.ndarray, before_s: float, after_s: float
) -> Run | None:
    """The run of some attacks, between others that are out of time; None if none is left."""
    placed = inside[~np.isnan(path.beats[inside])]
    places = path.beats[placed]
    period_s = 60.0 / path.bpm[placed]
    beats_s = beat_line(places, strikes.time_s[placed], period_s)
    count = np.floor(places[0]) + np.arange(len(beats_s))
    kept = (beats_s > before_s + _SILENT_S) & (beats_s < after_s - _SILENT_S)
    if before_s == -np.inf:
        kept &= beats_s > -_SILENT_S
    if kept.sum() < 2:
        return None
    begins = placed[np.floor(places) >= count[kept][0]]
    if not len(begins):
        return None
    return Run(
        first=int(begins[0]),
        last=int(inside[-1]),
        beats_s=np.maximum(beats_s[kept], 0.0),
        start=int(count[kept][0]),
    )


def passages(runs: Sequence[Run], times_s: np.ndarray) -> tuple[Passage, ...]:
    """Where attacks are in no run, between the runs and at either end."""
    found, first = [], 0
    for run in [*runs, None]:
        after = run.first if run else len(times_s)
        if after > first:
            start_s, end_s = times_s[first] - _MARGIN_S, times_s[after - 1] + _MARGIN_S
            found.append(Passage(start_s=round(max(0.0, start_s), 4), end_s=round(float(end_s), 4)))
        first = run.last + 1 if run else after
    return tuple(found)


def turn_scores(runs: Sequence[Run], strikes: Strikes, per_bar: int) -> np.ndarray:
    """Log-likelihood of the bars moved on by each number of half beats: (2 * per_bar,)."""
    total = np.zeros(2 * per_bar)
    for run in runs:
        attacks = strikes.part(run.first, run.last + 1)
        scores = rotation_scores(attacks, run.beats_s, per_bar).sum(axis=0)
        total += np.roll(scores, -2 * (run.start % per_bar))
    return total
