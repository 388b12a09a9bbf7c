"""The best way through a take: which gesture stands for which chord of which row.

Dynamic programming over gestures. Each gesture is outside every row, or stands for chord j
of the target in key k: a new arrival, the chord struck again, or a stray note inside the
row. The best path through the whole take is kept. A path earns the likeness of each
arrival less what is even, and pays for starting, for chords left out, for strays and for giving
up before the last chord, so that one bad voicing does not break a row and a single
likeness in free playing does not make one. Time complexity: gestures x keys x chords.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from itertools import pairwise

import numpy as np

from stackline.practice.finding.gestures import Gesture
from stackline.practice.finding.likeness import KEYS

SAME_KEYS = 0.20  # for arriving with the very keys just struck: rather struck again
LONE_NOTE = 0.20  # for arriving with one note: rather a stray
LEFT_OUT = 0.50  # for each chord passed over
UNFINISHED = 0.30  # for each chord that was not reached
AGAIN = 0.10  # what a chord struck again just as meant earns
STRAY = {1: 0.05, 2: 0.15}  # by number of keys
STRAY_CHORD = 0.25  # of three keys and more
LONGEST_WAIT_S = 20.0
WAIT_PER_S = 0.01
SURELY = 0.85  # likeness from which a chord outside every row was meant for the next row


@dataclass(frozen=True)
class Prices:
    """even: likeness at which an arrival neither earns nor costs. start: for each row.

    unchanged: for arriving with what was just struck, however like the chord: symbols leave so
    much open that one voicing may do for both chords.
    """

    even: float
    start: float
    unchanged: float


STACKS = Prices(0.55, 0.30, 0.0)
SYMBOLS = Prices(0.55, 0.30, 0.40)
SYMBOLS_IN_PRACTICE = Prices(0.30, 0.45, 0.40)  # in a take that is practice of the target


class How(IntEnum):
    """What a gesture may be on the path; ON is the next chord, OVER the one after that."""

    OUT = 0
    START = 1
    ON = 2
    OVER = 3
    AGAIN = 4
    STRAY = 5


@dataclass(frozen=True)
class Step:
    """What one gesture is on the best path, for which chord of which key."""

    gesture: int
    how: How
    key: int = 0
    chord: int = 0


def best_rows(gestures: Sequence[Gesture], like: np.ndarray, prices: Prices) -> list[Step]:
    """One step a gesture. like: array (gestures, keys, chords), see `likeness`."""
    return _Search(gestures, like, prices).path()


class _Search:
    """The dynamic programme; see the module's text for its prices."""

    def __init__(self, gestures: Sequence[Gesture], like: np.ndarray, prices: Prices) -> None:
        self.n, _, self.chords = like.shape
        plain = like - prices.even
        self.stray = [STRAY.get(len(g.struck), STRAY_CHORD) for g in gestures]
        same = [False, *(a.struck == b.struck for a, b in pairwise(gestures))]
        lone = [len(gesture.struck) == 1 for gesture in gestures]
        dear = SAME_KEYS * np.array(same) + LONE_NOTE * np.array(lone)
        alike = np.array([False, *(same_chord(a, b) for a, b in pairwise(gestures))])
        wrong = np.where(alike[:, None, None], 0.0, plain)  # as it was: it was paid for already
        self.again = np.where(plain > 0, AGAIN * plain / (1 - prices.even), wrong)
        unchanged = prices.unchanged * alike
        hardly = np.maximum(dear, unchanged)[:, None, None]
        self.earn = plain - np.where(like < SURELY, hardly, unchanged[:, None, None])
        self.start = [prices.start + (SAME_KEYS if one else 0.0) for one in alike]
        self.waits = [0.0, *(b.onset_s - a.onset_s for a, b in pairwise(gestures))]
        self.how = np.zeros((self.n, KEYS, self.chords), np.int8)
        self.closed_from = np.full((self.n + 1, 2), -1, np.int16)  # key, chord that ended here

    def path(self) -> list[Step]:
        """The best path, gesture by gesture."""
        closed = np.zeros(self.n + 1)
        inside = np.full((KEYS, self.chords), -np.inf)
        ending = np.full(self.chords, UNFINISHED)
        ending[-1] = 0.0
        starting = LEFT_OUT * np.arange(self.chords)
        for g in range(self.n):
            inside = self._next(g, inside, closed[g] - self.start[g] - starting)
            value = inside - ending
            key, chord = np.unravel_index(int(value.argmax()), value.shape)
            closed[g + 1] = closed[g]
            if value[key, chord] > closed[g]:
                closed[g + 1] = value[key, chord]
                self.closed_from[g + 1] = (key, chord)
        return self._back()

    def _next(self, g: int, before: np.ndarray, fresh: np.ndarray) -> np.ndarray:
        earn, again = self.earn[g], self.again[g]
        wait = self.waits[g]
        cost = WAIT_PER_S * wait if wait <= LONGEST_WAIT_S else np.inf
        options = np.full((6, KEYS, self.chords), -np.inf)
        options[How.START] = fresh[None, :] + earn
        options[How.ON, :, 1:] = before[:, :-1] + earn[:, 1:] - cost
        options[How.OVER, :, 2:] = before[:, :-2] + earn[:, 2:] - cost - LEFT_OUT
        options[How.AGAIN] = before + again - cost
        options[How.STRAY] = before - self.stray[g] - cost
        self.how[g] = options.argmax(axis=0)
        return options.max(axis=0)

    def _back(self) -> list[Step]:
        steps: list[Step] = []
        g = self.n
        while g > 0:
            key, chord = (int(one) for one in self.closed_from[g])
            if key < 0:
                g -= 1
                steps.append(Step(g, How.OUT))
                continue
            how = How.OUT
            while how != How.START:
                g -= 1
                how = How(self.how[g, key, chord])
                steps.append(Step(g, how, key, chord))
                chord -= {How.ON: 1, How.OVER: 2}.get(how, 0)
        return steps[::-1]


def same_chord(first: Gesture, second: Gesture) -> bool:
    """Whether the same keys were struck again, perhaps with others added or left out."""
    one, other = set(first.struck), set(second.struck)
    return one <= other or other <= one
