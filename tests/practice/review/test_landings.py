"""Where each degree of the V went: the five outcomes, by hand, against a target's own leading.

G13(b9) to C6/9 as F Ab B E to E G A D: b7 to 3, b9 to 5, 13 to 9 (common practice; T. Karlsson,
jazz harmony lesson 53, for the guide tones).
"""

import pytest

from stackline.practice.review.landings import intended, is_cadence
from stackline.practice.review.reviewing import review_gestures
from stackline.practice.targets.target_text import parse_target
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, gestures_of, played

STUDY = parse_target(TARGET_TEXT)
II, V, I = TWO_FIVE  # noqa: E741


def outcomes(*rows: tuple[float, tuple[int, ...]]) -> dict[str, tuple[str, str | None]]:
    """Degree of the V -> what became of it, and where."""
    one = review_gestures(gestures_of(rows), STUDY, "x").passes[0]
    return {
        str(x.resolution.degree): (
            x.resolution.outcome,
            None if x.resolution.to is None else str(x.resolution.to),
        )
        for x in one.landings
    }


@pytest.mark.parametrize(
    ("chords", "due"),
    [
        ("G7 | Cmaj7", True),
        ("G7 | Cm6", True),
        ("Db7 | Cmaj7", True),  # the tritone substitute
        ("G7sus | G7", True),  # a 4 is due to fall to its own 3
        ("G7sus | Cmaj7", True),
        ("G7 | C7", True),
        ("Dm7 | Cmaj7", False),
        ("G7 | Am7", False),
        ("Bb7 | Cmaj7", False),
        ("Cmaj7 | Fmaj7", False),
        ("Dm7 | G7", False),
    ],
)
def test_only_dominants_that_go_home_are_asked(chords: str, due: bool) -> None:
    """A fifth or a semitone down from a dominant, and a sus chord onto its own root."""
    first, second = parse_target(chords, key="C").chords
    assert is_cadence(first, second) is due


def test_the_target_says_where_each_degree_goes() -> None:
    """The study leads F to E, Ab to G, E to D."""
    ways = {degree: (str(way.to), way.semitones) for degree, way in intended(STUDY, 1).items()}
    assert ways["b7"] == ("3", -1)
    assert ways["b9"] == ("5", -1)
    assert ways["13"] == ("9", -2)


@pytest.mark.parametrize(
    ("tonic", "degree", "expected"),
    [
        (I, "b9", ("landed", "5")),
        (I, "b7", ("landed", "3")),
        (I, "13", ("landed", "9")),
        ((52, 57, 62, 67), "b9", ("other octave", "5")),  # the G an octave up
        ((52, 56, 57, 62), "b9", ("held", "b13")),  # the Ab stays
        ((52, 54, 57, 62), "b9", ("not landed", "#11")),  # an F# came for it
        ((53, 55, 57, 62), "b7", ("held", "11")),  # the F stays in the tonic
        ((52, 55, 57, 63), "13", ("not landed", "#9")),  # an Eb where the D was due
    ],
)
def test_each_outcome(tonic: tuple[int, ...], degree: str, expected: tuple[str, str]) -> None:
    """Ii and V as written, then this voicing of the I."""
    assert outcomes(*played(II, V, tonic))[degree] == expected


def test_late_is_what_comes_while_the_tonic_still_holds() -> None:
    """The Ab stays at first; G follows half a second after."""
    rows = [*played(II, V), (2.5, (52, 56, 57, 62)), (3.0, (52, 55, 57, 62))]
    assert outcomes(*rows)["b9"] == ("late", "5")


def test_another_way_out_than_the_targets_is_no_landing() -> None:
    """The 13 of the V is meant to fall to the 9; that it could become the 3 is not asked here."""
    assert outcomes(*played(II, V, (52, 55, 57, 64)))["13"][0] != "landed"
