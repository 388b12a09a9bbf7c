"""What stands above a key whenever it is struck: its own sound, or another key?

Some keys of some pianos sound like octaves: a strong second and fourth partial, and nothing
in one strike can tell that from two keys. A whole take can: if evidence for the key above is
there whenever the lower one is struck, in chord after chord, it is the lower key's own sound.
So each candidate that stands 12, 19 or 24 semitones above a struck key is described by what
was heard at that interval above the same key, above its neighbours (which on sampled
instruments share its sample) and above all other keys, in other chords of the take.

Chords with the same keys count once: a voicing that is repeated says nothing new.
"""

from collections.abc import Sequence

import numpy as np

from stackline.listen.attacks.attacks import NEIGHBOURS_S
from stackline.shared.units import N_KEYS

INTERVALS = (12, 19, 24)
STRUCK = 0.0  # log odds from which a key counts as struck here
_ABSENT, _MOST = -6.0, 8.0  # log odds of a key that is no candidate, and the highest that count
_UNKNOWN = -5.0  # what is taken where no other chord tells
_PRESENT = 2.0  # log odds from which a key above surely sounds
_USUAL_SHARE = 0.1  # of keys with a key above, where the take does not tell
_ATTACKS, _CHORDS = 320, 80  # attacks on either side that are looked at; chords that count
_PER_INTERVAL = 11
N_HABITS = _PER_INTERVAL * len(INTERVALS)


def attack_starts(time_s: np.ndarray) -> np.ndarray:
    """Where, in candidates by time, each attack but the first begins."""
    starts: np.ndarray = np.flatnonzero(np.diff(time_s) > NEIGHBOURS_S) + 1
    return starts


def groups_of(time_s: np.ndarray) -> np.ndarray:
    """The attack, 0 and up, that each candidate (by time) belongs to."""
    places = np.arange(len(time_s))
    numbers: np.ndarray = np.searchsorted(attack_starts(time_s), places, side="right")
    return numbers


def habit_inputs(time_s: np.ndarray, key: np.ndarray, odds: np.ndarray) -> np.ndarray:
    """For each candidate (by time) and interval what was heard elsewhere, (n, N_HABITS).

    key: 0..87. odds: log odds that they were struck. Zeros where no key is struck below.
    """
    table = np.zeros((len(key), N_HABITS), np.float32)
    if not len(key):
        return table
    board = _Board(groups_of(time_s), key, odds)
    for place, step in enumerate(INTERVALS):
        everywhere = board.everywhere(step)
        columns = slice(place * _PER_INTERVAL, (place + 1) * _PER_INTERVAL)
        for row in np.flatnonzero(board.has_below(step)):
            table[row, columns] = board.description(int(row), step, everywhere)
    return table


class _Board:
    """Attacks by keys: the highest log odds of each, and which count as struck."""

    def __init__(self, group: np.ndarray, key: np.ndarray, odds: np.ndarray) -> None:
        self._group, self._key = group, key
        self._odds = np.full((int(group[-1]) + 1, N_KEYS), _ABSENT)
        np.maximum.at(self._odds, (group, key), np.clip(odds, _ABSENT, _MOST))
        self._struck = self._odds > STRUCK
        self._strikes = [np.flatnonzero(column) for column in self._struck.T]

    def has_below(self, step: int) -> np.ndarray:
        """Which candidates stand `step` above a struck key, (n,)."""
        below = self._struck[self._group, np.maximum(self._key - step, 0)]
        found: np.ndarray = (self._key >= step) & below
        return found

    def everywhere(self, step: int) -> np.ndarray:
        """Of each key (3, 88): strikes, summed log odds `step` above, strikes with a key there."""
        struck, above = self._struck[:, : N_KEYS - step], self._odds[:, step:]
        sums = np.zeros((3, N_KEYS))
        sums[0, : N_KEYS - step] = struck.sum(axis=0)
        sums[1, : N_KEYS - step] = (struck * above).sum(axis=0)
        sums[2, : N_KEYS - step] = (struck & (above > _PRESENT)).sum(axis=0)
        return sums

    def description(self, row: int, step: int, everywhere: np.ndarray) -> Sequence[float]:
        """The `_PER_INTERVAL` numbers of a candidate above a struck key."""
        attack, key = int(self._group[row]), int(self._key[row])
        mine = self._elsewhere(attack, key, step)
        beside = [
            self._elsewhere(attack, key + shift, step)
            for shift in (-1, 1)
            if key + shift - step >= 0 and key + shift < N_KEYS
        ]
        zone = np.concatenate([mine, *beside])
        others, total, present = everywhere.sum(axis=1) - everywhere[:, key - step]
        return (
            1.0,
            min(len(mine), 8) / 8,
            *((mine.mean(), np.median(mine), mine.max()) if len(mine) else (_UNKNOWN,) * 3),
            min(len(zone), 16) / 16,
            *((zone.mean(), np.median(zone), np.percentile(zone, 80)) if len(zone)
              else (_UNKNOWN,) * 3),
            total / others if others else _UNKNOWN,
            present / others if others else _USUAL_SHARE,
        )  # fmt: skip

    def _elsewhere(self, attack: int, key: int, step: int) -> np.ndarray:
        """Log odds of `key` in other chords with the key `step` below, one for each chord."""
        strikes = self._strikes[key - step]
        first, last = np.searchsorted(strikes, (attack - _ATTACKS, attack + _ATTACKS))
        near = strikes[first:last]
        if len(near) > _CHORDS:
            near = near[np.argsort(np.abs(near - attack), kind="stable")[:_CHORDS]]
        chords = self._struck[near]
        chords[:, key] = False
        own = self._struck[attack].copy()
        own[key] = False
        other = (chords != own).any(axis=1)
        near, chords = near[other], chords[other]
        if not len(near):
            return np.zeros(0)
        _, distinct = np.unique(np.packbits(chords, axis=1), axis=0, return_index=True)
        values: np.ndarray = self._odds[near[distinct], key]
        return values
