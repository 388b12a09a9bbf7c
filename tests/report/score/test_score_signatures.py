"""Key signatures: of the key centre, or none; common practice in the books named in each test."""

import pytest

from stackline.report.score.score_signatures import cheapest, signature
from stackline.theory.chords.keys import Key


@pytest.mark.parametrize(
    ("tonic", "minor", "sharps"),
    [("C", False, 0), ("Gb", False, -6), ("F#", False, 6), ("A", True, 0), ("C#", True, 4),
     ("Eb", True, -6), ("Bb", False, -2), ("G", True, -2)],
)  # fmt: skip
def test_signatures_are_those_of_the_circle_of_fifths(tonic: str, minor: bool, sharps: int) -> None:
    """The table in any primer of music."""
    assert signature(Key(tonic=tonic, minor=minor)) == sharps


def test_a_tune_in_one_key_has_one_signature() -> None:
    """Two bars elsewhere are written with accidentals (common practice in lead sheets)."""
    assert cheapest([-2] * 8 + [3] * 2 + [-2] * 6) == [-2] * 16


def test_a_bridge_in_another_key_has_its_own() -> None:
    """Eight bars and back: a passage that modulates takes a new signature (common practice)."""
    assert cheapest([-2] * 16 + [3] * 8 + [-2] * 8) == [-2] * 16 + [3] * 8 + [-2] * 8


def test_music_that_goes_on_modulating_has_none() -> None:
    """A ii-V-I of two or four bars in each of twelve keys: accidentals alone (common practice)."""
    circle = [0, -1, -2, -3, -4, -5, -6, 5, 4, 3, 2, 1]
    for bars in (2, 4):
        assert cheapest([one for one in circle for _ in range(bars)]) == [0] * 12 * bars


def test_no_key_is_no_signature() -> None:
    """Nothing read, nothing drawn."""
    assert cheapest([0, 0, 0]) == [0, 0, 0]
