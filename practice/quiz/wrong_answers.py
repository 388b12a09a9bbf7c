"""Wrong answers that could have been right, but are not.

A quality is only offered where what sounds contradicts it over the same root, or lacks what it asks
for: G13 and G9 are both right for some stacks, and then only one of them is asked.
"""

import random
from collections.abc import Collection, Sequence

from stackline.theory.chords.degrees import pitch_class
from stackline.theory.chords.qualities import quality
from stackline.theory.stacks.frames import asked, contradicting
from stackline.theory.ways.builds import builds

CHOICES = 4  # answers to choose from (ours)
_DEGREES = ("R", "3", "b3", "5", "b7", "7", "9", "b9", "#9", "#11", "11", "13", "b13", "6")
_QUALITIES = (
    "m9", "m11", "m6/9", "m7b5", "dim7", "mMaj9", "9", "13", "13(b9)", "7alt", "9sus", "13sus",
    "7(#11)", "maj9", "6/9", "maj9(#11)", "7(b9,b13)",
)  # fmt: skip


def other_degrees(rng: random.Random, right: str, stack: Sequence[str]) -> list[str]:
    """Three degrees that are not on top: those of the stack first."""
    own = [one for one in dict.fromkeys(stack) if one != right]
    rest = [one for one in _DEGREES if one != right and one not in own]
    rng.shuffle(own)
    rng.shuffle(rest)
    return (own + rest)[: CHOICES - 1]


def other_qualities(rng: random.Random, right: str, intervals: Collection[int]) -> list[str]:
    """Three qualities that what sounds (0..11 above the root) is not."""
    found = [one for one in _QUALITIES if one != right and not _could_be(one, intervals)]
    rng.shuffle(found)
    return found[: CHOICES - 1]


def _could_be(key: str, intervals: Collection[int]) -> bool:
    row = quality(key)
    if contradicting(row, intervals):
        return False
    return all(any(pitch_class(one) in intervals for one in group) for group in asked(row))


def other_stacks(rng: random.Random, key: str, stack: Sequence[str]) -> list[str]:
    """Three other stacks of the same quality with as many notes, or nearly."""
    right = tuple(stack)
    near = sorted(
        {one.degrees for one in builds(key) if one.degrees != right},
        key=lambda one: (abs(len(one) - len(right)), one),
    )
    pool = near[:24]
    rng.shuffle(pool)
    return [" ".join(one) for one in pool[: CHOICES - 1]]
