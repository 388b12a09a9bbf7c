"""Degrees over a named chord, in any key: names are the trade's (common practice)."""

import pytest

from stackline.theory.chords.symbols import parse_symbol
from stackline.theory.stacks.chord_degrees import degrees_over


# The same chord in every key; intervals over its root and what players call them.
@pytest.mark.parametrize("up", range(12))
@pytest.mark.parametrize(
    ("quality", "intervals", "names"),
    [
        ("", (0, 4, 10, 21), "R 3 b7 13"),  # a 7th that only sounds makes the 6 a 13
        ("", (0, 4, 9), "R 3 6"),
        ("maj9", (4, 9, 14), "3 13 9"),  # and so does a 7th that only the name has
        ("7(#5)", (4, 8, 10), "3 #5 b7"),  # a note of the name keeps its name
        ("7", (4, 8, 10), "3 b13 b7"),
        ("m7", (0, 3, 10, 6), "R b3 b7 b5"),
        ("m7", (0, 3, 7, 10, 6), "R b3 5 b7 #11"),
    ],
)
def test_degrees_follow_the_chord_and_what_sounds(
    up: int, quality: str, intervals: tuple[int, ...], names: str
) -> None:
    """Transposing moves notes and root together and no name changes."""
    root = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")[up]
    pitches = [48 + up + one for one in intervals]
    found = degrees_over(parse_symbol(root + quality), pitches)
    assert " ".join(str(one) for one in found) == names
