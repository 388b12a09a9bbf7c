"""Which hands play, how far they reach, and where on the keys a voicing then lies.

Reaches are common practice: all hands an octave, most a ninth, few a tenth. What a hand cannot
take is not suggested; nobody should stretch for an idea.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from stackline.shared.complaint import Complaint
from stackline.theory.stacks.hands import MOST_NOTES, ONE_HAND_TOP
from stackline.theory.stacks.low_limits import LIMITS

REACHES = {"octave": 12, "9th": 14, "10th": 16}  # semitones, of a tenth the major one
HANDS = ("left", "two", "any")
LOW, HIGH = 40, 84  # MIDI, E2 to C6: where comping and its spread roots lie (common practice)


@dataclass(frozen=True, kw_only=True)
class Reach:
    """hands: "left" alone, "two" with neither empty, or "any". widest: semitones of one hand."""

    hands: str = "any"
    widest: int = REACHES["9th"]

    def lowest_keys(self, heights: Sequence[int]) -> range:
        """Where the lowest note of a voicing may lie, MIDI; empty where no hands reach it.

        heights: rising semitones, the octave free. What lies below the low interval limits is left
        out (see `low_limits`).
        """
        rising = [height - heights[0] for height in heights]
        pairs = pairwise(rising)
        low = max(LOW, *(LIMITS.get(above - below, 0) - below for below, above in pairs))
        one = self.hands != "two" and self._hand(rising)
        two = self.hands != "left" and any(
            self._hand(rising[:cut]) and self._hand(rising[cut:]) for cut in range(1, len(rising))
        )
        high = HIGH if two else ONE_HAND_TOP if one else low - 1
        return range(low, high - rising[-1] + 1)

    def _hand(self, pitches: Sequence[int]) -> bool:
        return len(pitches) <= MOST_NOTES and pitches[-1] - pitches[0] <= self.widest


def read_reach(hands: str, reach: str) -> Reach:
    """From what a player types; raises Complaint with what is allowed."""
    if hands not in HANDS:
        raise Complaint(f"--hands {hands!r}: allowed are {', '.join(HANDS)}")
    if reach not in REACHES:
        raise Complaint(f"--reach {reach!r}: allowed are {', '.join(REACHES)}")
    return Reach(hands=hands, widest=REACHES[reach])
