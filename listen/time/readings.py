"""Which way of playing explains a take best, with which beats, and how sure that is.

Sparse attacks are comping, in four or in three; dense ones are lines of players, or sixteenths;
in between all are asked. Clicks lead where they are regular on the beats that they help to find:
speech clicks too, but anywhere. How sure the beats are is asked of the rivals: another tempo,
and the beats moved by half a beat; how sure the bars are, of other downbeats on the same beats.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.time.bar_places import Strikes
from stackline.listen.time.bar_pointer import (
    Onsets,
    Path,
    Told,
    follow,
    lengths_between,
    per_second,
)
from stackline.listen.time.rhythms import (
    BINS,
    DENSE,
    EVIDENCE,
    NEWNESS,
    PLAYERS,
    SIXTEENTHS,
    Way,
    comping,
    line_gain,
    players,
    sixteenths,
)
from stackline.listen.time.runs import Run, places_on, runs_of

USUAL_METERS = (4, 3)  # the usual one first
SLOWEST_BPM, FASTEST_BPM = 42.0, 330.0  # unless the player says so
FINE_STEP = 0.008  # between lengths of the beat where the tempo is told
SURE_BARS, LIKELY_BARS = 4.0, 1.5  # by how much downbeats must lead to be heard, to be taken

_SPARSEST_LINE, _DENSEST_COMPING = 2.2, 3.2  # attacks a second
_UNUSUAL = 2.5  # by how much another meter than the usual one must be likelier
_FLAT, _EACH = 5.0, 0.15  # by how much sixteenths must be likelier than eighths; for each attack
_FEWEST_CLICKS = 8  # clicks from which they may be a pulse (ours)
_REGULAR = 0.5  # mean log rate of clicks at their places of the beat
_SAME_TEMPO = 0.15  # tempi nearer than this, relative, are one
_SETTLED = 4.0  # by how much rivals must be less likely to be out of the question
_CHANCE, _SURE = 0.3, 2.5  # a score over the root of the attacks: by chance, and beyond doubt
_LEAST_DENSE = 0.4  # a dense line has a pulse, whatever is doubtful about it
_DOUBTED = 0.55  # what a rival as likely takes away: more than even odds


@dataclass(frozen=True, kw_only=True, eq=False)
class Heard:
    """All that was heard of the time of a take. leave_out: see `rhythms.players`."""

    strikes: Strikes
    clicks: Onsets
    bass: Onsets
    leave_out: int | None = None

    @property
    def attacks(self) -> Onsets:
        """The attacks, their kind by how new they are and whether they are lone."""
        newness = np.rint(self.strikes.new * (NEWNESS - 1)).astype(int)
        return Onsets(
            part="piano",
            time_s=self.strikes.time_s,
            weight=self.strikes.weight,
            kind=newness + NEWNESS * self.strikes.lone,
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Reading:
    """A path, its runs, and how sure it is.

    clicks_lead: whether clicks were asked. bars_lead: by how much its downbeats are likelier than
    others. confidence: 0 to 1.
    """

    path: Path
    runs: list[Run]
    clicks_lead: bool
    bars_lead: float
    confidence: float


def best_reading(
    heard: Heard, told: Told, *, meter: int | None, fewest: int, one_s: float | None
) -> Reading | None:
    """The best reading of a take of an attack or more; None without a pulse."""
    alone = [heard.attacks, heard.bass]
    paths, clicks_lead = [], False
    if len(heard.clicks.time_s) >= _FEWEST_CLICKS:
        paths = _paths([*alone, heard.clicks], heard, told, meter)
        clicks_lead = _regularity(paths[0][1], heard.clicks.time_s) > _REGULAR
    if not clicks_lead:
        paths = _paths(alone, heard, told, meter)
    score, path = paths[0]
    runs = runs_of(path, heard.strikes.time_s, fewest=fewest, one_s=one_s)
    if not runs:
        return None
    onsets = [*alone, heard.clicks] if clicks_lead else alone
    turns = _turn_scores(path, runs, onsets, heard.leave_out)
    rivals = [its for its, one in paths if not _is_of_tempo(one, path)]
    lead = min(score - max(rivals, default=-np.inf), float(turns[0] - turns[1::2].max()))
    share = (score / np.sqrt(len(heard.strikes.time_s)) - _CHANCE) / (_SURE - _CHANCE)
    least = 1.0 if clicks_lead else _LEAST_DENSE if path.way in DENSE else 0.0
    share = float(np.clip(share, least, 1.0))
    return Reading(
        path=path,
        runs=runs,
        clicks_lead=clicks_lead,
        bars_lead=float(turns[0] - turns[2::2].max(initial=-np.inf)),
        confidence=1.0
        if told.bpm
        else share * (1 - _DOUBTED * float(np.exp(-max(0.0, lead) / _SETTLED))),
    )


def _paths(
    onsets: Sequence[Onsets], heard: Heard, told: Told, meter: int | None
) -> list[tuple[float, Path]]:
    """The paths of all ways that are asked, each with its score, the likeliest first."""
    if told.bpm:
        lengths = lengths_between(told.bpm * 0.75, told.bpm * 1.3, FINE_STEP)
    else:
        lengths = lengths_between(SLOWEST_BPM, FASTEST_BPM)
    density, found = per_second(heard.strikes.time_s), []
    for per_bar in (meter,) if meter else USUAL_METERS:
        bpm = 6000.0 / lengths
        ways = comping(per_bar, bpm) if density < _DENSEST_COMPING else []
        if density > _SPARSEST_LINE and (meter or per_bar == USUAL_METERS[0]):
            ways += [players(per_bar, bpm, heard.leave_out), sixteenths(per_bar, bpm)]
        for path in follow(ways, lengths, onsets, told) if ways else []:
            unusual = 0.0 if meter or per_bar == USUAL_METERS[0] else _UNUSUAL
            found.append((path.score + _bonus(path, heard) - unusual, path))
    return sorted(found, key=lambda one: one[0], reverse=True)


def _bonus(path: Path, heard: Heard) -> float:
    """What sets players' lines and sixteenths on one footing: both are one player's."""
    attacks = heard.attacks
    if path.way == SIXTEENTHS:
        return -_FLAT - _EACH * len(attacks.time_s)
    if path.way != PLAYERS or not path.stretches:
        return 0.0
    stretch = path.stretches[0]
    bpm = _tempo(path)
    way = players(path.meter, np.array([bpm]), heard.leave_out)
    bins = _bins(stretch.time_s, stretch.start, attacks.time_s, path.meter)
    return EVIDENCE * line_gain(way, bins, attacks.weight, bpm)


def _tempo(path: Path) -> float:
    return 60.0 / float(np.median(np.concatenate([np.diff(one.time_s) for one in path.stretches])))


def _is_of_tempo(one: Path, other: Path) -> bool:
    if not (one.stretches and other.stretches):
        return False
    return abs(np.log(_tempo(one) / _tempo(other))) < _SAME_TEMPO


def _bins(beats_s: np.ndarray, start: float, times_s: np.ndarray, meter: int) -> np.ndarray:
    """Places of the bar, in 1/BINS of a beat; start: where the first beat stands."""
    return np.rint((places_on(beats_s, times_s) + start) * BINS).astype(int) % (BINS * meter)


def _regularity(path: Path, times_s: np.ndarray) -> float:
    if not path.stretches:
        return 0.0
    return regularity(np.concatenate([one.time_s for one in path.stretches]), times_s)


def regularity(beats_s: np.ndarray, times_s: np.ndarray) -> float:
    """Mean log rate of onsets at their places of the beat, each reckoned from the others.

    0 where they fall anywhere, 3 where all fall on one place. beats_s: (n_beats,);
    times_s: (n_onsets,).
    """
    bins = _bins(beats_s, 0, times_s, 1)
    counts = np.bincount(bins, minlength=BINS).astype(float)
    near = 0.5 * counts + 0.25 * (np.roll(counts, 1) + np.roll(counts, -1))
    others = (near[bins] - 0.5 + 0.5 / BINS) * BINS / max(1, len(bins) - 1)
    return float(np.mean(np.log(others)))


def _turn_scores(
    path: Path, runs: Sequence[Run], onsets: Sequence[Onsets], leave_out: int | None
) -> np.ndarray:
    """Log-likelihood of the bars moved on by each number of half beats: (2 * meter,)."""
    way, total = _way(path, leave_out), np.zeros(2 * path.meter)
    for run in runs:
        for one in onsets:
            inside = (one.time_s >= run.beats_s[0] - 0.1) & (one.time_s <= run.beats_s[-1] + 0.1)
            times_s, weight, kind = one.time_s[inside], one.weight[inside], one.kind[inside]
            for turn in range(2 * path.meter):
                bins = _bins(run.beats_s, run.start + turn / 2, times_s, path.meter)
                total[turn] += EVIDENCE * float(weight @ way.rates[one.part][kind, 0, bins])
    return total


def _way(path: Path, leave_out: int | None) -> Way:
    """The way of a path, at its tempo."""
    bpm = np.array([_tempo(path)])
    if path.way in DENSE:
        dense = (players(path.meter, bpm, leave_out), sixteenths(path.meter, bpm))
        return dense[DENSE.index(path.way)]
    return next(way for way in comping(path.meter, bpm) if way.name == path.way)
