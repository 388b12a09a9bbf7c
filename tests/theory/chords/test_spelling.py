"""Spelling by the line of fifths, through twelve keys."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import interval, note

from stackline.shared.harmony import Degree
from stackline.theory.chords.degrees import semitones
from stackline.theory.chords.keys import Key, key_by_number, root_in_key, tonic_name
from stackline.theory.chords.spelling import (
    fifths,
    name_at,
    pitch_class_of,
    plain_name,
    single_accidental,
    spell_degree,
    spelled_with,
    with_octave,
    with_signs,
)

ROOTS = ["Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#"]
DEGREES = [
    "R",
    "b9",
    "9",
    "#9",
    "b3",
    "3",
    "4",
    "11",
    "#11",
    "b5",
    "5",
    "b13",
    "6",
    "13",
    "b7",
    "7",
]
INTERVALS = {
    "R": "P1", "b9": "m9", "9": "M9", "#9": "A9", "b3": "m3", "3": "M3", "4": "P4", "11": "P11",
    "#11": "A11", "b5": "d5", "5": "P5", "b13": "m13", "6": "M6", "13": "M13", "b7": "m7",
    "7": "M7",
}  # fmt: skip


@pytest.mark.parametrize("root", ROOTS)
@pytest.mark.parametrize("degree", DEGREES)
def test_degrees_are_spelled_as_music21_transposes(root: str, degree: str) -> None:
    """The degree's interval above the root, as music21 spells it, has the same name."""
    over = note.Note(root.replace("b", "-") + "4")
    expected = interval.Interval(INTERVALS[degree]).transposeNote(over).name.replace("-", "b")
    assert spell_degree(root, Degree.parse(degree)) == expected


@given(st.integers(-15, 19))
def test_names_and_places_are_inverse(place: int) -> None:
    """Every name up to two accidentals has one place on the line of fifths."""
    assert fifths(name_at(place)) == place
    assert pitch_class_of(name_at(place)) == place * 7 % 12


@given(st.sampled_from(ROOTS), st.sampled_from([*DEGREES, "bb7"]))
def test_spelled_degrees_sound_right(root: str, degree: str) -> None:
    """A spelled degree always has the degree's pitch class, even where it is respelled."""
    name = spell_degree(root, Degree.parse(degree))
    assert pitch_class_of(name) == (pitch_class_of(root) + semitones(degree)) % 12


# Scientific pitch notation: C4 = 60, the number follows the letter (MIDI 59 is B3 or Cb4).
@pytest.mark.parametrize(
    ("name", "midi", "shown"),
    [("C", 60, "C4"), ("B", 59, "B3"), ("Cb", 59, "Cb4"), ("B#", 60, "B#3"), ("Ab", 68, "Ab4")],
)
def test_octaves_follow_the_letter(name: str, midi: int, shown: str) -> None:
    """The octave number is the letter's, not the sound's."""
    assert with_octave(name, midi) == shown


# Common practice: chords of a key are spelled in that key.
@pytest.mark.parametrize(
    ("key", "pc", "family", "expected"),
    [
        (Key(tonic="Db"), 6, "major", "Gb"), (Key(tonic="D"), 6, "minor", "F#"),
        (Key(tonic="Gb"), 11, "major", "Cb"), (Key(tonic="B"), 11, "major", "B"),
        (Key(tonic="C"), 1, "dominant", "Db"), (Key(tonic="E"), 8, "minor", "G#"),
        (Key(tonic="Ab"), 10, "minor", "Bb"), (Key(tonic="F"), 3, "dominant", "Eb"),
        (Key(tonic="Db"), 2, "dominant", "D"), (Key(tonic="C", minor=True), 8, "dominant", "Ab"),
        (Key(tonic="A"), 1, "minor", "C#"), (Key(tonic="C"), 6, "half-diminished", "F#"),
    ],
)  # fmt: skip
def test_roots_are_spelled_in_their_key(key: Key, pc: int, family: str, expected: str) -> None:
    """Neither double accidentals nor E sharp, and the key's own side of the line."""
    assert root_in_key(pc, key, family) == expected


def test_a_diminished_chord_that_leads_up_is_raised() -> None:
    """In C, C#dim7 goes to D, and Ebdim7 goes down."""
    assert root_in_key(1, Key(tonic="C"), "diminished", next_root_pc=2) == "C#"
    assert root_in_key(3, Key(tonic="C"), "diminished", next_root_pc=2) == "Eb"


# Common practice of lead sheets: what stands over a chord is read at sight.
@pytest.mark.parametrize(
    ("key", "pc", "family", "following", "expected"),
    [
        (Key(tonic="Gb"), 11, "minor", 6, "B"), (Key(tonic="Db"), 6, "minor", 1, "F#"),
        (Key(tonic="Gb"), 11, "dominant", 4, "B"), (Key(tonic="C"), 6, "dominant", 5, "Gb"),
        (Key(tonic="E"), 3, "dominant", 4, "Eb"), (Key(tonic="E"), 3, "dominant", 8, "D#"),
        (Key(tonic="A"), 1, "dominant", 6, "C#"), (Key(tonic="E"), 1, "major", 0, "Db"),
        (Key(tonic="B"), 8, "major", 7, "Ab"), (Key(tonic="B"), 6, "major", None, "F#"),
        (Key(tonic="E"), 8, "minor", 1, "G#"), (Key(tonic="Db"), 8, "half-diminished", 1, "Ab"),
    ],
)  # fmt: skip
def test_roots_that_nobody_writes_are_respelled(
    key: Key, pc: int, family: str, following: int | None, expected: str
) -> None:
    """No double flats where a single name serves, no C#maj7; dominants by where they lead."""
    assert root_in_key(pc, key, family, next_root_pc=following) == expected


def test_a_diminished_chord_at_the_end_is_spelled_by_where_it_came_from() -> None:
    """Dm7 D#dim7, and nothing after it."""
    assert root_in_key(3, Key(tonic="C"), "diminished", last_root_pc=2) == "D#"


@given(st.integers(-15, 19))
def test_single_accidentals_sound_alike(place: int) -> None:
    """A name with two accidentals is read as the plain note that it is."""
    name = name_at(place)
    plain = single_accidental(name)
    assert len(plain) <= 2
    assert pitch_class_of(plain) == pitch_class_of(name)
    assert plain == name or len(name) == 3


@pytest.mark.parametrize("number", range(24))
def test_a_key_takes_the_name_of_its_chords(number: int) -> None:
    """Of Gb and F#, C# and Db, the one whose ii, V and I are spelled so; at most seven signs."""
    for shift in (0, 12, -12):
        usual = key_by_number(number)
        near = fifths(usual.tonic) + shift + 1.0
        found = key_by_number(number, near=near)
        assert found.tonic_pc == usual.tonic_pc
        assert abs(fifths(found.tonic) - 3 * found.minor) <= 7
    assert key_by_number(6, near=fifths("F#") + 1.0).tonic == "F#"
    assert key_by_number(6, near=fifths("Gb") + 1.0).tonic == "Gb"


def test_flats_or_sharps_throughout() -> None:
    """What was asked for holds while it lasts, for roots, keys and lone notes."""
    with spelled_with("sharps"):
        assert [root_in_key(pc, Key(tonic="F"), "dominant") for pc in (1, 3, 6, 8, 10)] == [
            "C#", "D#", "F#", "G#", "A#",
        ]  # fmt: skip
        assert (tonic_name(6), tonic_name(1, minor=True), plain_name(10)) == ("F#", "C#", "A#")
    with spelled_with("flats"):
        assert root_in_key(6, Key(tonic="D"), "minor") == "Gb"
        assert (tonic_name(6), tonic_name(8, minor=True)) == ("Gb", "Ab")
    assert root_in_key(6, Key(tonic="D"), "minor") == "F#"
    assert plain_name(10) == "Bb"


def test_signs_for_print() -> None:
    """Accidentals become signs after letters and before numbers and numerals; prose stays."""
    shown = {
        "Gb13(b9,#11)/Db": "G\u266d13(\u266d9,\u266f11)/D\u266d", "bb7": "\u266d\u266d7",
        "F#m7b5": "F\u266fm7\u266d5", "bVII7": "\u266dVII7", "Bb": "B\u266d", "sub": "sub",
    }  # fmt: skip
    assert {text: with_signs(text) for text in shown} == shown
