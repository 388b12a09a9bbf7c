"""Which key signature stands in each bar: that of the key centre, or none.

A signature holds for a passage. Bars in another key are written with accidentals, and a change has
its price: it is made where a new key lasts `CHANGE` bars and more (the best path through the
bars). Music that would change it again and again, or is in other keys for most of its bars, is
written without a signature (common practice for music that modulates all the time; the
numbers are ours).
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from stackline.shared.best_path import best_path
from stackline.shared.take import Take
from stackline.theory.chords.keys import Key
from stackline.theory.chords.spelling import fifths
from stackline.theory.form.key_centres import key_centres

MINOR_SHIFT = 3  # a minor key has the signature of the major a minor third up
CHANGE = 2.5  # a change costs as much as so many bars in a foreign signature
BARS_A_CHANGE = 8  # music that changes more than once, and more often than this, has no signature


def signature(key: Key) -> int:
    """Sharps (positive) or flats (negative) of a key."""
    return fifths(key.tonic) - (MINOR_SHIFT if key.minor else 0)


def signatures(take: Take, bar_of: Sequence[int], bars: int) -> list[int]:
    """The signature of each bar. bar_of: each voicing's bar, of `bars` from 0 without gaps."""
    return cheapest(centre_signatures(take, bar_of, bars))


def centre_signatures(take: Take, bar_of: Sequence[int], bars: int) -> list[int]:
    """The signature of the key centre of each bar; the first centre's before it, 0 without any."""
    begins = {bar_of[one.first]: signature(one.key) for one in key_centres(take.voicings)}
    now = begins[min(begins)] if begins else 0
    found = []
    for bar in range(bars):
        now = begins.get(bar, now)
        found.append(now)
    return found


def cheapest(centres: Sequence[int]) -> list[int]:
    """The signatures to write over bars whose key centres have these."""
    states = sorted(set(centres), key=lambda one: (abs(one), one))
    worth = [np.array([0.0 if one == centre else -1.0 for one in states]) for centre in centres]
    moves = -CHANGE * (1.0 - np.eye(len(states)))
    found = [states[at] for at in best_path(worth, lambda _: moves)]
    return [0] * len(found) if _is_restless(found, centres) else found


def _is_restless(found: Sequence[int], centres: Sequence[int]) -> bool:
    """Whether signatures change too often to help, or are foreign in most bars."""
    changes = sum(a != b for a, b in pairwise(found))
    foreign = sum(a != b for a, b in zip(found, centres, strict=True))
    return (changes > 1 and changes * BARS_A_CHANGE > len(found)) or foreign * 2 > len(found)
