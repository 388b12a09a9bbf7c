"""How bars lie over beats: meter, downbeats, and which half of the beat is the beat.

For beats that were found there are some ways to lay bars over them (`Layout`). A take is cut
into passages at long rests, since after one the count may begin anew; each passage has its
own turn of the bar, the best sequence of turns is taken (turns seldom change), and layouts
are compared by their scores. When one turn stands out, the bars are "heard"; otherwise the
take is taken to begin on a downbeat and the bars are "assumed", which readers are told.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.time.bar_places import Strikes, places_on, rotation_scores
from stackline.listen.time.strokes import BINS, Strokes
from stackline.listen.time.usual_tempi import SURE_BARS, USUAL_BEATS_PER_BAR

_REST_S, _REST_BEATS = 4.0, 6.0  # a rest longer than both ends a passage
_CHANGE = 8.0  # cost of another turn after a rest
_UNUSUAL = 2.5  # by how much three must be likelier than four
_KNOWN_ONE = 60.0  # gain for a downbeat where one is known


@dataclass(frozen=True, kw_only=True, eq=False)
class Layout:
    """Bars over beats.

    beats_s: (n,). per_bar: beats in a bar. starts: index of the first beat of each passage.
    turns: for each passage by how many half beats its first beat of all, beat 0, would stand
    after a downbeat. score: log-likelihood. lead: by how much it beats the best other turns
    of whole beats; half_lead: the best turns of the other half beats.
    """

    beats_s: np.ndarray
    per_bar: int
    starts: np.ndarray
    turns: np.ndarray
    score: float
    lead: float
    half_lead: float

    def numbers(self) -> np.ndarray:
        """The number of each beat in its bar, from 1, when no turn is of half beats."""
        index = np.arange(len(self.beats_s))
        turn = self.turns[np.searchsorted(self.starts, index, side="right") - 1] // 2
        numbers: np.ndarray = (index + turn) % self.per_bar + 1
        return numbers

    def halved(self) -> np.ndarray:
        """The beats, moved by half a beat in passages whose turn is of half beats."""
        index = np.arange(len(self.beats_s))
        odd = self.turns[np.searchsorted(self.starts, index, side="right") - 1] % 2 == 1
        ahead = np.append(self.beats_s[1:], 2 * self.beats_s[-1] - self.beats_s[-2])
        return np.where(odd, (self.beats_s + ahead) / 2, self.beats_s)


def lay_bars(
    beats_s: np.ndarray,
    strikes: Strikes,
    clicks: Sequence[Strokes],
    *,
    per_bar: int,
    ones_s: Sequence[float] = (),
    whole: bool = False,
) -> Layout:
    """The best layout in a meter. ones_s: where downbeats are known. whole: no half beats."""
    starts, cuts = _passages(beats_s, strikes)
    each = rotation_scores(strikes, beats_s, per_bar)
    scores = np.array([part.sum(axis=0) for part in np.split(each, cuts)])
    scores += _click_scores(beats_s, clicks, starts, per_bar)
    for one_s in ones_s:
        place = float(places_on(beats_s, np.array([one_s]))[0])
        passage = max(0, int(np.searchsorted(starts, place + 0.5, side="right")) - 1)
        turns = np.arange(2 * per_bar) / 2
        off = (place + turns + per_bar / 2) % per_bar - per_bar / 2
        scores[passage] += _KNOWN_ONE * np.maximum(0.0, 1.0 - 2.5 * np.abs(off))
    if whole:
        scores[:, 1::2] = -np.inf
    best = _best_turns(scores)
    total = _total(scores, best)
    unusual = 0.0 if per_bar == USUAL_BEATS_PER_BAR else _UNUSUAL
    return Layout(
        beats_s=beats_s,
        per_bar=per_bar,
        starts=starts,
        turns=best,
        score=total - unusual,
        lead=total - _best_other(scores, best, range(2, 2 * per_bar, 2)),
        half_lead=total - _best_other(scores, best, range(1, 2 * per_bar, 2)),
    )


def is_sure(layout: Layout) -> bool:
    """Whether the downbeats can be called heard."""
    return layout.lead >= SURE_BARS


def _passages(beats_s: np.ndarray, strikes: Strikes) -> tuple[np.ndarray, np.ndarray]:
    """First beat of each passage, and where the strikes are cut."""
    period_s = float(np.median(np.diff(beats_s)))
    rests = np.diff(strikes.time_s) > max(_REST_S, _REST_BEATS * period_s)
    cuts = np.flatnonzero(rests) + 1
    begins = np.searchsorted(beats_s, strikes.time_s[cuts] + 0.1 * period_s) - 1
    starts, kept = [0], []
    for cut, begin in zip(cuts, begins, strict=True):
        if starts[-1] < begin < len(beats_s):
            starts.append(int(begin))
            kept.append(int(cut))
    return np.array(starts), np.array(kept, int)


def _click_scores(
    beats_s: np.ndarray, clicks: Sequence[Strokes], starts: np.ndarray, per_bar: int
) -> np.ndarray:
    """What clicks say to each turn: only whether the beat or its half is the beat."""
    scores = np.zeros((len(starts), 2 * per_bar))
    bpm = 60.0 / float(np.median(np.diff(beats_s)))
    for some in clicks:
        places = places_on(beats_s, some.time_s)
        passage = np.maximum(np.searchsorted(starts, places + 0.5, side="right") - 1, 0)
        for half in (0, 1):
            bins = np.rint((places + half / 2) * BINS).astype(int) % BINS
            gains = some.weight * some.log_density(bpm)[bins]
            np.add.at(scores[:, half::2], passage, gains[:, None])
    return scores


def _best_turns(scores: np.ndarray) -> np.ndarray:
    """Viterbi's path through the turns of the passages."""
    best, back = scores[0], []
    for score in scores[1:]:
        changed = int(best.argmax())
        stay = best >= best[changed] - _CHANGE
        back.append(np.where(stay, np.arange(len(best)), changed))
        best = np.maximum(best, best[changed] - _CHANGE) + score
    path = [int(best.argmax())]
    for pointers in reversed(back):
        path.append(int(pointers[path[-1]]))
    return np.array(path[::-1])


def _total(scores: np.ndarray, turns: np.ndarray) -> float:
    changes = int(np.count_nonzero(np.diff(turns)))
    return float(scores[np.arange(len(turns)), turns].sum()) - _CHANGE * changes


def _best_other(scores: np.ndarray, best: np.ndarray, by: range) -> float:
    """The best total with all turns moved by the same amount."""
    size = scores.shape[1]
    return max((_total(scores, (best + move) % size) for move in by), default=-np.inf)
