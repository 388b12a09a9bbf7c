"""A third look: what a key's octave, twelfth and double octave do whenever it is struck.

Some keys of some pianos sound like octaves: a strong second and fourth partial, and nothing
in one strike can tell that from two keys. A whole take can: if the key above is there
whenever the lower one is struck, in chord after chord, and never stronger, it is the lower
key's own sound. So each candidate that stands 12, 19 or 24 semitones above a struck key is
weighed against what was heard at the same interval above that key, and above its neighbours
(which on sampled instruments share its sample), in other chords of the take.

Chords with the same keys count once: a voicing that is repeated says nothing new.
"""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from listen.attacks import NEIGHBOURS_S
from shared.units import N_KEYS

WEIGHTS = Path(__file__).parent / "weights" / "piano_habits.npz"

INTERVALS = (12, 19, 24)
_ABSENT = -8.0  # log odds of a key that is no candidate, and the lowest that count
_SURE = 1.0  # log odds from which a key counts as struck here
_FAINT = -3.0  # log odds below which a candidate is left as it is
_OTHERS = 40  # chords on either side, at most, that are compared with
_PER_INTERVAL = 6
N_INPUTS = 2 + _PER_INTERVAL * len(INTERVALS)


@dataclass(frozen=True, kw_only=True, eq=False)
class Habits:
    """One hidden layer; its output is added to the log odds. Shapes as `piano_judge.Judge`."""

    hidden: np.ndarray
    hidden_bias: np.ndarray
    out: np.ndarray
    out_bias: np.ndarray

    def __call__(self, inputs: np.ndarray) -> np.ndarray:
        """What to add to log odds, (n,), for inputs (n, N_INPUTS)."""
        hidden = np.maximum(inputs @ self.hidden + self.hidden_bias, 0.0)
        change: np.ndarray = hidden @ self.out + self.out_bias
        return change


@lru_cache(maxsize=1)
def habits() -> Habits:
    """From the file of weights."""
    with np.load(WEIGHTS) as data:
        return Habits(**{name: data[name] for name in Habits.__annotations__})


def attack_starts(time_s: np.ndarray) -> np.ndarray:
    """Where, in candidates by time, each attack but the first begins."""
    starts: np.ndarray = np.flatnonzero(np.diff(time_s) > NEIGHBOURS_S) + 1
    return starts


def groups_of(time_s: np.ndarray) -> np.ndarray:
    """The attack, 0 and up, that each candidate (by time) belongs to."""
    places = np.arange(len(time_s))
    numbers: np.ndarray = np.searchsorted(attack_starts(time_s), places, side="right")
    return numbers


def weighed(time_s: np.ndarray, key: np.ndarray, odds: np.ndarray) -> np.ndarray:
    """Log odds of candidates, by time, after the third look."""
    rows, inputs = habit_inputs(time_s, key, odds)
    if not len(rows):
        return odds
    changed = odds.copy()
    changed[rows] = odds[rows] + habits()(inputs)
    return changed


def habit_inputs(
    time_s: np.ndarray, key: np.ndarray, odds: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Which candidates are weighed, and for each (n, N_INPUTS) what was heard elsewhere."""
    group = groups_of(time_s)
    board = np.full((int(group[-1]) + 1 if len(group) else 0, N_KEYS), _ABSENT)
    np.maximum.at(board, (group, key), np.clip(odds, _ABSENT, -_ABSENT))
    struck = board > _SURE
    rows, columns = [], []
    for index in np.flatnonzero(odds > _FAINT):
        row, mine = int(group[index]), int(key[index])
        heard = [_interval(board, struck, row, mine, step) for step in INTERVALS]
        if any(one[0] for one in heard):
            rows.append(index)
            own = float(np.clip(odds[index], _ABSENT, -_ABSENT))
            columns.append([own, struck[row].sum() / 4, *(value for one in heard for value in one)])
    table = np.array(columns, np.float32).reshape(len(rows), N_INPUTS)
    return np.array(rows, int), table


def _interval(board: np.ndarray, struck: np.ndarray, row: int, key: int, step: int) -> list[float]:
    """Whether the key `step` below is struck too, and what its other chords have above it.

    1 or 0; how many other chords (8 or more are 1); mean and lowest log odds of the key
    above; how many chords of the keys beside; mean log odds there.
    """
    below = key - step
    if below < 0 or not struck[row, below]:
        return [0.0] * _PER_INTERVAL
    mine = _elsewhere(board, struck, row, key, step)
    beside = [
        value
        for shift in (-1, 1)
        if below + shift >= 0 and key + shift < N_KEYS
        for value in _elsewhere(board, struck, row, key + shift, step)
    ]
    return [
        1.0,
        min(len(mine), 8) / 8,
        float(np.mean(mine)) if len(mine) else 0.0,
        float(np.min(mine)) if len(mine) else 0.0,
        min(len(beside), 8) / 8,
        float(np.mean(beside)) if len(beside) else 0.0,
    ]


def _elsewhere(board: np.ndarray, struck: np.ndarray, row: int, key: int, step: int) -> np.ndarray:
    """Log odds of `key` in other chords that strike the key `step` below, one for each chord."""
    low = max(row - 8 * _OTHERS, 0)
    near = low + np.flatnonzero(struck[low : row + 8 * _OTHERS, key - step])
    near = near[np.argsort(np.abs(near - row), kind="stable")[: 2 * _OTHERS]]
    chords = struck[near].copy()
    chords[:, key] = False
    own = struck[row].copy()
    own[key] = False
    other = (chords != own).any(axis=1)
    near, chords = near[other], chords[other]
    if not len(near):
        return np.zeros(0)
    _, first = np.unique(np.packbits(chords, axis=1), axis=0, return_index=True)
    values: np.ndarray = board[near[first], key]
    return values
