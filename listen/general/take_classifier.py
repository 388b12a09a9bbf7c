"""A third look of the general ear: what stands above a key whenever it is struck in a take.

Some keys of some instruments sound like octaves: their second partial is louder than their
first, and nothing in one strike tells that from two keys. A whole take can. The key's own
partials, those that it shares with no octave (first, third, fifth), say how strong the
shared ones (second, fourth) are against them: always the same where the key is alone, more
where the octave is struck with it. So each candidate that stands 12, 19, 24 or 28 semitones
above a struck key is weighed with how it compares with the same interval above that key in
other chords of the take, and above the keys beside it (a sample, a hammer, a register is
often shared): how sure a strike was heard there, and how the partials stood.

Chords with the same keys count once, as their mean, and a chord is not compared with itself: a
voicing that is repeated says nothing new. Keys that may be partials of the lower key are left
out of what makes two chords the same.

One hidden layer, whose output is added to log odds; weights in `take_classifier.npz`, made by
``python -m training.classifiers.fit_general_judge``.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from stackline.listen.attacks.attacks import NEIGHBOURS_S
from stackline.listen.one_layer import OneLayer, load
from stackline.shared.units import N_KEYS

WEIGHTS = Path(__file__).parent / "weights" / "take_classifier.npz"

# Interval above the lower key, and among the partials 1, 2, 3, 4, 5, 6 and 8 of that key (places
# 0 to 6) those that the upper key shares, and those that it does not.
INTERVALS: dict[int, tuple[tuple[int, ...], tuple[int, ...]]] = {
    12: ((1, 3, 5, 6), (0, 2, 4)),
    19: ((2, 5), (0, 1, 3, 4, 6)),
    24: ((3, 6), (0, 1, 2, 4, 5)),
    28: ((4,), (0, 1, 2, 3, 5, 6)),
}
N_PARTIALS = 7  # partials whose levels are compared
FAINT = -3.0  # log odds below which a candidate is left as it is
_ABSENT = -8.0  # log odds of a key that is no candidate, and the lowest that count
_SURE = 1.0  # log odds from which a key counts as struck
_SURELY_NOT = -2.0  # log odds below which a key was not struck
_OTHERS = 40  # attacks on either side, at most, that are compared with
_BESIDE = (-2, -1, 1, 2)  # keys, in semitones from the lower one
_FAINTEST = 0.05  # activation against which a strength is taken, at least
_MANY = 8  # so many chords or more count as one
_PER_INTERVAL = 23  # inputs for each interval
N_STRENGTHS = 2  # inputs: how strong a candidate is
N_INPUTS = 2 + N_STRENGTHS + _PER_INTERVAL * len(INTERVALS)  # of the classifier


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidates:
    """Candidates of a take, by time. time_s, odds (log), key 0..87: (n,).

    levels: (n, 7), of the key's partials 1, 2, 3, 4, 5, 6 and 8 just after, in one unit.
    strength: (n, 2), onset and frame activation, 0..1.
    """

    time_s: np.ndarray
    key: np.ndarray
    odds: np.ndarray
    levels: np.ndarray
    strength: np.ndarray


@lru_cache(maxsize=1)
def habits() -> OneLayer:
    """What is added to log odds, for inputs (n, N_INPUTS); from the file of weights."""
    return load(WEIGHTS)


def weighed(found: Candidates) -> np.ndarray:
    """Log odds of candidates after the third look, natural logarithm, (n_candidates,)."""
    rows, inputs = habit_inputs(found)
    if not len(rows):
        return found.odds
    changed = found.odds.copy()
    changed[rows] += habits()(inputs)
    return changed


def habit_inputs(found: Candidates) -> tuple[np.ndarray, np.ndarray]:
    """Which candidates are weighed, and for each (n, N_INPUTS) what was heard elsewhere."""
    take = _Take(found)
    rows, columns = [], []
    for index in np.flatnonzero(found.odds > FAINT):
        row, key = int(take.attack[index]), int(found.key[index])
        heard = [take.interval(row, key, number) for number in range(len(INTERVALS))]
        if any(one[0] for one in heard):
            rows.append(index)
            own = float(np.clip(found.odds[index], _ABSENT, -_ABSENT))
            values = [value for one in heard for value in one]
            columns.append([own, take.struck[row].sum() / 4, *found.strength[index], *values])
    table = np.array(columns, np.float32).reshape(len(rows), N_INPUTS)
    return np.array(rows, int), table


def attacks_of(time_s: np.ndarray) -> np.ndarray:
    """The attack, 0 and up, that each candidate belongs to: (n,). time_s: (n,), rising."""
    starts = np.diff(time_s, prepend=time_s[:1]) > NEIGHBOURS_S
    numbers: np.ndarray = np.cumsum(starts)
    return numbers


@dataclass(frozen=True, kw_only=True, eq=False)
class _Chords:
    """One interval in several chords: log odds of the upper key, (n,), and of (n, 2) each the
    balance of the lower key's partials and the upper key's strength against the lower one's.
    """

    odds: np.ndarray
    balance: np.ndarray
    strength: np.ndarray


class _Take:
    """What was heard of every key in every attack."""

    def __init__(self, found: Candidates) -> None:
        self.attack = attacks_of(found.time_s)
        n_attacks = int(self.attack[-1]) + 1 if len(found.key) else 0
        balance = _balance(found.levels)
        self.odds = np.full((n_attacks, N_KEYS), _ABSENT)
        self.balance = np.zeros((n_attacks, N_KEYS, balance.shape[1]), np.float32)
        self.strength = np.zeros((n_attacks, N_KEYS, N_STRENGTHS), np.float32)
        order = np.argsort(found.odds, kind="stable")  # the likeliest of a key comes last
        places = self.attack[order], found.key[order]
        self.odds[places] = np.clip(found.odds[order], _ABSENT, -_ABSENT)
        self.balance[places] = balance[order]
        self.strength[places] = found.strength[order]
        self.struck = self.odds > _SURE
        self._known: dict[int, tuple[np.ndarray, np.ndarray]] = {}

    def interval(self, row: int, key: int, number: int) -> list[float]:
        """What is known of the interval between the key and a struck one below it.

        1 if there is one; then see `_compared` and `_beside`.
        """
        step = tuple(INTERVALS)[number]
        low = key - step
        if low < 0 or not self.struck[row, low]:
            return [0.0] * _PER_INTERVAL
        here = self._chords(np.array([row]), low, number)
        there = self._elsewhere(row, low, number)
        beside = [
            self._elsewhere(row, low + shift, number)
            for shift in _BESIDE
            if low + shift >= 0 and key + shift < N_KEYS
        ]
        return [1.0, *_compared(here, there), *_beside(here, beside)]

    def _chords(self, attacks: np.ndarray, low: int, number: int) -> _Chords:
        """The interval above the key `low` in some attacks."""
        upper = low + tuple(INTERVALS)[number]
        below = np.maximum(self.strength[attacks, low], _FAINTEST)
        return _Chords(
            odds=self.odds[attacks, upper],
            balance=self.balance[attacks, low, 2 * number : 2 * number + 2],
            strength=np.clip(self.strength[attacks, upper] / below, 0.0, 2.0),
        )

    def _elsewhere(self, row: int, low: int, number: int) -> _Chords:
        """The same in other chords that strike the key `low`, one for each, as means."""
        attacks, names = self._chords_with(low)
        middle = int(np.searchsorted(attacks, row))
        near = slice(max(middle - _OTHERS, 0), middle + _OTHERS + 1)
        other = np.ones(len(attacks), bool)
        if middle < len(attacks) and attacks[middle] == row:
            other = names != names[middle]
        attacks, names = attacks[near][other[near]], names[near][other[near]]
        every = self._chords(attacks, low, number)
        _, which = np.unique(names, return_inverse=True)
        count = np.bincount(which)
        values = np.column_stack((every.odds, every.balance, every.strength))
        means = np.stack([np.bincount(which, one) for one in values.T], axis=1) / count[:, None]
        return _Chords(odds=means[:, 0], balance=means[:, 1:3], strength=means[:, 3:])

    def _chords_with(self, low: int) -> tuple[np.ndarray, np.ndarray]:
        """The attacks that strike a key, and a number for the other keys of each."""
        if low not in self._known:
            attacks = np.flatnonzero(self.struck[:, low])
            keys = self.struck[attacks].copy()
            keys[:, [low + step for step in INTERVALS if low + step < N_KEYS]] = False
            _, names = np.unique(np.packbits(keys, axis=1), axis=0, return_inverse=True)
            self._known[low] = attacks, names.reshape(-1)
        return self._known[low]


def _compared(here: _Chords, there: _Chords) -> list[float]:
    """The interval in this chord against the same in others; 0 where there are none.

    Balance and strength (2 each) here; how many others there are, and in how many the upper key
    is surely not struck; mean, lowest and highest log odds; by how much the balance exceeds the
    mean and the lowest; how much it varies; its excess over the chords without the upper key; by
    how much the strength exceeds the mean and the highest.
    """
    known = [*here.balance[0], *here.strength[0]]
    if not len(there.odds):
        return [*known, *[0.0] * 15]
    without = there.balance[there.odds < _SURELY_NOT, 1]
    return [
        *known,
        min(len(there.odds), _MANY) / _MANY,
        min(len(without), _MANY) / _MANY,
        there.odds.mean(),
        there.odds.min(),
        there.odds.max(),
        *(here.balance[0] - there.balance.mean(axis=0)),
        *(here.balance[0] - there.balance.min(axis=0)),
        there.balance[:, 1].std(),
        here.balance[0, 1] - without.mean() if len(without) else 0.0,
        *(here.strength[0] - there.strength.mean(axis=0)),
        *(here.strength[0] - there.strength.max(axis=0)),
    ]


def _beside(here: _Chords, beside: list[_Chords]) -> list[float]:
    """Above the keys beside: number of chords, mean log odds, excess of the balance over it."""
    odds = np.concatenate([one.odds for one in beside])
    if not len(odds):
        return [0.0, 0.0, 0.0]
    balance = np.concatenate([one.balance[:, 1] for one in beside])
    return [min(len(odds), _MANY) / _MANY, odds.mean(), here.balance[0, 1] - balance.mean()]


def _balance(levels: np.ndarray) -> np.ndarray:
    """Shared against own partials, (n, 2 for each interval): the lowest two, and the means."""
    return np.stack(list(_balances(levels)), axis=1).astype(np.float32)


def _balances(levels: np.ndarray) -> Iterator[np.ndarray]:
    for shared, own in INTERVALS.values():
        yield levels[:, shared[0]] - levels[:, 0]
        yield levels[:, shared].mean(axis=1) - levels[:, own].mean(axis=1)
