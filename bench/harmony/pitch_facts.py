"""Facts of voicings counted from MIDI numbers: what sentences are held against.

Written apart from the theory room and using none of its code: degrees, qualities, chord shapes and
limits stand here once more, from handbooks (common practice; low limits: sweetwater.com's table).
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

STEPS = {"R": 0, "1": 0, "2": 2, "3": 4, "4": 5, "5": 7, "6": 9, "7": 11, "9": 2, "11": 5, "13": 9,
         "maj7": 11}  # fmt: skip
LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
INTERVALS = (
    "unison", "minor 2nd", "major 2nd", "minor 3rd", "major 3rd", "4th", "tritone", "5th",
    "minor 6th", "major 6th", "minor 7th", "major 7th", "octave",
)  # fmt: skip
LOWEST = {1: 52, 2: 51, 3: 48, 4: 47, 5: 45, 6: 35, 7: 37, 8: 41, 9: 41, 10: 41, 11: 41}
TRIADS = {(4, 3): ("major", 0), (3, 5): ("major", 2), (5, 4): ("major", 1),
          (3, 4): ("minor", 0), (4, 5): ("minor", 2), (5, 3): ("minor", 1)}  # fmt: skip


def step_of(degree: str) -> int:
    """Semitones over the root within the octave: ``b9`` 1, ``#11`` 6, ``bb7`` 9."""
    name = degree.lstrip("b#")
    sign = degree[: len(degree) - len(name)]
    return (STEPS[name] + sign.count("#") - sign.count("b")) % 12


def midi_of(name: str) -> int:
    """``Eb4`` 63, ``Cb4`` 59: the octave goes with the letter."""
    found = re.fullmatch(r"([A-G])([b#]*)(-?\d+)", name)
    if not found:
        raise ValueError(name)
    shift = found[2].count("#") - found[2].count("b")
    return 12 * (int(found[3]) + 1) + LETTERS[found[1]] + shift


def root_of(symbol: str) -> tuple[int, str]:
    """Pitch class of a symbol's root, and what follows it without a bass."""
    found = re.match(r"([A-G])(bb?|##?)?", symbol)
    if not found:
        raise ValueError(symbol)
    sign = found[2] or ""
    rest = re.sub(r"/[A-G][b#]*$", "", symbol[found.end() :])
    return (LETTERS[found[1]] + sign.count("#") - sign.count("b")) % 12, rest


def third_and_seventh(rest: str) -> tuple[int, tuple[int, ...]]:
    """Third (4 of a sus) and possible sevenths of a quality, in semitones."""
    low = rest.lower()
    if "sus" in low:
        return 5, (10,)
    if "dim" in low:
        return 3, (9, 11)
    if "m7b5" in low or "m9b5" in low or "m11b5" in low:
        return 3, (10,)
    if rest.startswith("m") and not low.startswith("maj"):
        return 3, (10, 11, 9)
    if low.startswith("maj") or rest in ("", "+", "5") or rest[:1] in ("6", "("):
        return 4, (11, 9)
    return 4, (10,)


@dataclass(frozen=True, kw_only=True)
class Stack:
    """A voicing as numbers. pitches: rising; struck: those not held; left: of the left hand.

    later: pitches of the voicings that follow under the same chord.
    """

    pitches: tuple[int, ...]
    symbol: str
    struck: tuple[int, ...]
    left: tuple[int, ...]
    letters: tuple[int, ...] = ()
    confidence: float = 1.0
    later: tuple[tuple[int, ...], ...] = ()

    @property
    def root(self) -> int:
        return root_of(self.symbol)[0]

    @property
    def third(self) -> int:
        return third_and_seventh(root_of(self.symbol)[1])[0]

    @property
    def sevenths(self) -> tuple[int, ...]:
        return third_and_seventh(root_of(self.symbol)[1])[1]

    @property
    def steps(self) -> tuple[int, ...]:
        return tuple((pitch - self.root) % 12 for pitch in self.pitches)

    @property
    def gaps(self) -> tuple[int, ...]:
        return tuple(b - a for a, b in pairwise(self.pitches))

    @property
    def span(self) -> int:
        return self.pitches[-1] - self.pitches[0]

    def at(self, degree: str) -> list[int]:
        """Pitches of a degree."""
        return [p for p in self.pitches if (p - self.root) % 12 == step_of(degree)]

    @property
    def top(self) -> int:
        return max(self.struck or self.pitches)


def is_close_four(pitches: Sequence[int]) -> bool:
    """Four different notes within an octave."""
    rising = sorted(pitches)
    return len({p % 12 for p in rising}) == 4 and len(rising) == 4 and rising[-1] - rising[0] < 12


def is_dropped(pitches: Sequence[int], *places: int) -> bool:
    """Whether a close chord had its notes at these places from the top put an octave down.

    places: 2 for drop 2; 2 and 4 for drop 2&4.
    """
    if len(pitches) != 4:
        return False
    lower = {2: (0,), 3: (0,), 24: (0, 1)}[int("".join(map(str, places)))]
    raised = sorted(p + 12 * (i in lower) for i, p in enumerate(pitches))
    if not is_close_four(raised):
        return False
    dropped = {pitches[i] + 12 for i in lower}
    return {raised[-place] for place in places} == dropped


def triad_on(pitches: Sequence[int]) -> tuple[str, int] | None:
    """Mode and root of three pitches in close position."""
    found = TRIADS.get((pitches[1] - pitches[0], pitches[2] - pitches[1]))
    return None if found is None else (found[0], pitches[found[1]] % 12)


def can_be_played(pitches: Sequence[int]) -> bool:
    """Whether two hands of five fingers and a tenth each reach all of it."""
    hands = ((pitches[:k], pitches[k:]) for k in range(len(pitches) + 1))
    return any(
        all(len(one) <= 5 and (not one or one[-1] - one[0] <= 16) for one in pair) for pair in hands
    )
