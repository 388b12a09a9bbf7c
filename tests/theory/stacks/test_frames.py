"""A symbol is a frame: what a player may add to it, and what makes it another chord.

Natural and altered tensions by kind of chord, avoid notes, 6 for 7 on the tonic, shells and
chords in fourths: common practice, as in any harmony text.
"""

import pytest

from stackline.theory.chords.degrees import pitch_class
from stackline.theory.chords.qualities import QUALITIES, quality
from stackline.theory.stacks.frames import allowed, asked, contradicting, stands_without


@pytest.mark.parametrize(
    ("symbol", "free", "against"),
    [
        ("maj7", "R 3 5 7 6 9 #11 13", "b9 b3 4 b7 b13"),
        ("6", "R 3 5 6 7 9", "b9 b3 4 b7 b13"),
        ("", "R 3 5 6 7 9", "b3 4 b7"),
        ("m7", "R b3 5 b7 9 11 13", "b9 3 b5 b13 7"),
        ("m", "R b3 5 6 7 b7 9 11", "b9 3 b5"),
        ("m6", "R b3 5 6 7 9 11", "3 b7 b13"),
        ("mMaj7", "R b3 5 6 7 9 11", "3 b7 b13"),
        ("m7b5", "R b3 b5 b7 9 11 b13", "b9 3 5 7"),
        ("dim7", "R b3 b5 bb7 9 11 b13 7", "b9 3 5 b7"),
        ("7sus", "R 4 5 b7 9 13", "3 7 b9"),
        ("7", "R 3 5 b7 9 b9 #9 #11 13 b13", "4 7"),
        ("9", "R 3 5 b7 9 #11 13 b13", "b9 #9 4 7"),
        ("13", "R 3 5 b7 9 13 #11", "b9 #9 b13 4 7"),
        ("7(13)", "R 3 5 b7 9 b9 #9 13", "b13 4 7"),
        ("7(b9)", "R 3 5 b7 b9 #9 #11 13 b13", "9 4 7"),
        ("13(b9)", "R 3 5 b7 b9 #9 13", "9 b13 4 7"),
        ("7(#11)", "R 3 5 b7 #11 9 b9 13", "4 7"),
        ("7(#5)", "R 3 #5 b7 9 b9", "5 13 4 7"),
        ("7(b5)", "R 3 b5 b7 9", "5 4 7"),
        ("7alt", "R 3 b7 b9 #9 #11 b13", "5 9 13 4 7"),
        ("maj7(#5)", "R 3 #5 7 9", "5 b7 4"),
    ],
)
def test_what_a_symbol_leaves_free_and_what_contradicts_it(
    symbol: str, free: str, against: str
) -> None:
    """Each degree in turn, sounding with the chord's own notes."""
    row = quality(symbol)
    may = {pitch_class(degree) for degree in allowed(row)}
    assert {pitch_class(degree) for degree in free.split()} <= may
    assert not {pitch_class(degree) for degree in against.split()} & may


def test_no_symbol_contradicts_itself() -> None:
    """Every quality's own notes fit it, and it asks for nothing that it does not allow."""
    for row in QUALITIES:
        assert not contradicting(row, set(row.intervals)), row.key
        assert asked(row)
        for group in asked(row):
            assert set(group) <= allowed(row), row.key


@pytest.mark.parametrize(
    ("symbol", "groups"),
    [
        ("maj7", (("3",), ("7", "6"))),
        ("6/9", (("3",), ("6", "7"))),
        ("", (("3",),)),
        ("m6", (("b3",), ("6", "7"))),
        ("m7", (("b3",), ("b7",))),
        ("7sus", (("4",), ("b7",))),
        ("dim7", (("b3",), ("bb7",))),
        ("13", (("3",), ("b7",))),
        ("13(b9)", (("3",), ("b7",), ("b9",))),
        ("7alt", (("3",), ("b7",))),
    ],
)
def test_a_symbol_asks_for_guide_tones_and_what_it_alters(
    symbol: str, groups: tuple[tuple[str, ...], ...]
) -> None:
    """Written natural tensions are an offer, written alterations are not."""
    assert asked(quality(symbol)) == groups


def test_a_third_over_a_sus_chord_needs_its_fourth() -> None:
    """The 3 a tenth up beside the 4 is a sus sound; without the 4 it is a dominant."""
    row = quality("7sus")
    assert not contradicting(row, {0, 5, 10, 4})
    assert contradicting(row, {0, 4, 10}) == {4}


@pytest.mark.parametrize(
    ("pitches", "symbol", "fine"),
    [
        ((48, 58), "m7", True),  # C Bb: root and seventh, the left hand of bebop
        ((48, 64), "maj7", True),  # C E: root and tenth
        ((48, 55), "7", False),  # C G: a bare fifth
        ((48, 55, 58), "7", False),  # C G Bb: neither major nor minor
        ((48, 48 + 7, 48 + 9), "m6", False),  # C G A
        ((50, 55, 60, 65), "m7", True),  # D G C F over Dm: fourths
        ((52, 57, 62, 67, 71), "m7", True),  # E A D G B over Dm
        ((38, 50, 55, 60), "m7", True),  # a D put below D G C
        ((52, 55, 57, 62), "7", False),  # E G A D: no fourths, no root
    ],
)
def test_shells_and_fourths_do_without_a_guide_tone(
    pitches: tuple[int, ...], symbol: str, fine: bool
) -> None:
    """Over C, or over D for the fourths; what is neither lacks something."""
    root = 2 if any(p in (50, 52) for p in pitches) and symbol == "m7" else 0
    assert stands_without(pitches, root, quality(symbol)) is fine
