"""Which hand plays which note: a guess from the pitches alone, with a confidence.

Every split with at most five notes and sixteen semitones a hand is weighed:

    cost = per hand, semitones beyond 12 (x1 up to 14, x3 up to 16)
         + 2 * |notes left - notes right| - 0.25 * min(gap at the split, 8)
         + 0.05 * |middle of the split - 60| + 3 for an empty hand

The weights are ours, chosen so that stacked fifths fall three and three and shells and spreads as
players take them (the stacks of tests/data/theory).

Up to four notes within 14 semitones and with a top of at most 74 are one hand's (the left,
as a comping hand). Reaches: an octave all hands, 14 most, 15 and 16 a stretch, above
16 none (common practice). Without any split the notes were rolled, pedalled, or are two
attacks in one, and the result says so.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

MOST_NOTES = 5  # notes of a hand
WIDEST = 16  # semitones that a hand reaches
EASY, MOST_HANDS = 12, 14  # semitones that all hands reach, and most
# Notes, semitones, and the MIDI number of the highest.
ONE_HAND_NOTES, ONE_HAND_SPAN, ONE_HAND_TOP = 4, 14, 74
EMPTY_HAND, UNEVEN = 3.0, 2.0  # costs: of a hand without notes; of each note more
GAP, WIDE_GAP, OFF_C4 = 0.25, 8, 0.05
BUSY_CONFIDENCE = 0.9  # ours, not measured: the right hand may leave its line for a chord
STRETCH = "a stretch: one hand spans more than a ninth"
UNREACHABLE = "no two hands reach this: rolled, pedalled, or two attacks in one"


@dataclass(frozen=True, kw_only=True)
class Split:
    """The lowest `left_count` notes are the left hand's; confidence 0..1; warnings."""

    left_count: int
    confidence: float
    warnings: tuple[str, ...] = ()


def split_hands(pitches: Sequence[int], *, right_is_busy: bool = False) -> Split:
    """The likeliest split of rising MIDI pitches between two hands.

    right_is_busy: it plays a line over them; what one hand reaches is then the left's.
    """
    if right_is_busy and is_in_reach(pitches):
        return Split(left_count=len(pitches), confidence=BUSY_CONFIDENCE)
    count = len(pitches)
    costs = {k: cost for k in range(count + 1) if (cost := _cost(pitches, k)) is not None}
    if not costs:
        gaps = [b - a for a, b in itertools.pairwise(pitches)]
        return Split(left_count=gaps.index(max(gaps)) + 1, confidence=0.0, warnings=(UNREACHABLE,))
    one_hand = (
        count <= ONE_HAND_NOTES
        and pitches[-1] - pitches[0] <= ONE_HAND_SPAN
        and pitches[-1] <= ONE_HAND_TOP
    )
    if one_hand:
        costs[count] -= EMPTY_HAND + UNEVEN * count + GAP * WIDE_GAP  # as if a gap lay beside it
    best = count if one_hand else min(costs, key=lambda k: costs[k])
    least = min(costs.values())
    weights = {k: math.exp(least - cost) for k, cost in costs.items()}
    stretched = any(_span(hand) > MOST_HANDS for hand in (pitches[:best], pitches[best:]))
    return Split(
        left_count=best,
        confidence=weights[best] / sum(weights.values()),
        warnings=(STRETCH,) if stretched else (),
    )


def is_in_reach(pitches: Sequence[int]) -> bool:
    """Whether most hands reach rising pitches at once."""
    return len(pitches) <= MOST_NOTES and _span(pitches) <= MOST_HANDS


def _span(hand: Sequence[int]) -> int:
    return hand[-1] - hand[0] if hand else 0


def _cost(pitches: Sequence[int], k: int) -> float | None:
    """Cost of giving the lowest k notes to the left hand; None where no hand can."""
    hands = (pitches[:k], pitches[k:])
    if any(len(hand) > MOST_NOTES or _span(hand) > WIDEST for hand in hands):
        return None
    cost = UNEVEN * abs(len(hands[0]) - len(hands[1]))
    for hand in hands:
        span = _span(hand)
        cost += max(0, min(span, MOST_HANDS) - EASY) + 3 * max(0, span - MOST_HANDS)
    if not hands[0] or not hands[1]:
        edge = pitches[-1] if hands[0] else pitches[0]
        return cost + EMPTY_HAND + OFF_C4 * abs(edge - 60)
    below, above = hands[0][-1], hands[1][0]
    return cost - GAP * min(above - below, WIDE_GAP) + OFF_C4 * abs((below + above) / 2 - 60)
