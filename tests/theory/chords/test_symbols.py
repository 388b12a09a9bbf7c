"""Chord symbols: what players write is read and printed in one form."""

import mir_eval
import pytest
from pychord import Chord

from stackline.shared.complaint import Complaint
from stackline.theory.chords.qualities import QUALITIES, Quality, quality
from stackline.theory.chords.spelling import name_at, pitch_class_of
from stackline.theory.chords.symbols import make_symbol, parse_symbol

ROOTS = [name_at(place) for place in range(-8, 9)]


@pytest.mark.parametrize("row", QUALITIES, ids=lambda row: row.key or "major")
@pytest.mark.parametrize("bass", [None, "E", "Db", "F#"])
def test_printing_then_parsing_is_identity(row: Quality, bass: str | None) -> None:
    """For every quality, root and bass the canonical text reads back as the same symbol."""
    for root in ROOTS:
        symbol = make_symbol(root, row.key, bass)
        assert parse_symbol(symbol.text) == symbol


@pytest.mark.parametrize("row", QUALITIES, ids=lambda row: row.key or "major")
def test_every_alias_means_its_row(row: Quality) -> None:
    """Other spellings of a row give the row's canonical symbol."""
    for alias in row.aliases:
        assert parse_symbol(f"C{alias}").quality == row.key


# Spellings that players write, and the canonical form: common practice.
@pytest.mark.parametrize(
    ("written", "canonical"),
    [
        ("C^7", "Cmaj7"), ("CM7", "Cmaj7"), ("CΔ", "Cmaj7"), ("C-7", "Cm7"), ("Cmin7", "Cm7"),
        ("C-Δ7", "CmMaj7"), ("Cm(maj7)", "CmMaj7"), ("Cø", "Cm7b5"), ("C-7b5", "Cm7b5"),
        ("Co7", "Cdim7"), ("C°7", "Cdim7"), ("C7alt", "C7alt"), ("Calt", "C7alt"),
        ("C7sus4", "C7sus"), ("C11", "C9sus"), ("C69", "C6/9"), ("C6/9", "C6/9"),
        ("C13b9", "C13(b9)"), ("C7(b9b13)", "C7(b9,b13)"), ("C7#9#5", "C7(#9,b13)"),
        ("C7-9", "C7(b9)"), ("C7+9", "C7(#9)"), ("C+7", "C7(#5)"), ("C7+", "C7(#5)"),
        ("E♭7(♯9)", "Eb7(#9)"), ("F#m7b5/B", "F#m7b5/B"), ("C(add9)", "C(add9)"),
        ("Cm11b5", "Cm11b5"), ("C9#11", "C9(#11)"), ("Csusb9", "C7sus(b9)"),
        ("C6/9/G", "C6/9/G"), ("C/E", "C/E"), ("Cmaj7(9)", "Cmaj9"), ("C13(#11)", "C13(#11)"),
    ],
)  # fmt: skip
def test_players_spellings_are_read(written: str, canonical: str) -> None:
    """Many spellings, one canonical form."""
    assert parse_symbol(written).text == canonical


def test_six_nine_is_no_slash_chord() -> None:
    """C6/9 is a sixth with a ninth; nothing of it is a bass."""
    symbol = parse_symbol("C6/9")
    assert (symbol.quality, symbol.bass) == ("6/9", None)


# Where pychord's tables agree with ours (tests/data/theory/chord_tables.json: agree).
@pytest.mark.parametrize("text", ["Am7", "Db9", "F#m9", "Bbmaj7", "E7b9", "Ab6", "Gm6", "C7sus4"])
def test_parsed_chords_have_pychords_notes(text: str) -> None:
    """The library pychord spells the same pitch classes from the same text."""
    symbol = parse_symbol(text)
    root = pitch_class_of(symbol.root)
    ours = {(root + step) % 12 for step in quality(symbol.quality).intervals}
    assert ours == {pitch_class_of(name) for name in Chord(text).components(visible=True)}


# The caret stands under the first letter that cannot be read.
@pytest.mark.parametrize(
    ("written", "underlined", "expected"),
    [
        ("G31(b9)", "    G31(b9)\n     ^~", "a quality such as"),
        ("H7", "    H7\n    ^", "a root A to G"),
        ("G7(b9", "    G7(b9\n         ^", r"a closing bracket \)"),
        ("Cfoo", "    Cfoo\n     ^~~", "a quality such as"),
        ("C7(b9,)", "    C7(b9,)\n          ^", "an alteration such as"),
        ("Caddb9", "    Caddb9\n     ^~~~~", "R 3 5 b9 is none of them"),
        ("", "    \n    ^", "a root A to G"),
    ],
)
def test_faults_are_underlined(written: str, underlined: str, expected: str) -> None:
    """The complaint says what was expected and marks the place."""
    with pytest.raises(Complaint, match=expected) as caught:
        parse_symbol(written)
    assert underlined in str(caught.value)


def test_german_letters_only_by_option() -> None:
    """B is B flat and H is B in German; by default H is refused."""
    assert parse_symbol("B7", german=True).text == "Bb7"
    assert parse_symbol("H7", german=True).text == "B7"
    with pytest.raises(Complaint, match="a root A to G"):
        parse_symbol("H7")


def test_harte_of_common_jazz_chords() -> None:
    """The notation of Harte et al. 2005 as mir_eval's parser takes it; 13(b9) loses no b9."""
    texts = {"G13(b9)": "G:7(b9,13)", "C6/9": "C:maj6(9)", "G7alt": "G:7(b9,#9,b13)",
             "G9sus": "G:sus4(b7,9)", "Dm7/G": "D:min7/4", "Eb7/Db": "Eb:7/b7"}  # fmt: skip
    assert {text: parse_symbol(text).harte for text in texts} == texts


@pytest.mark.parametrize("row", QUALITIES, ids=lambda row: row.key or "major")
@pytest.mark.parametrize(("bass", "up"), [(None, 0), ("E", 2), ("Db", 11), ("F#", 4)])
def test_another_reader_hears_the_same_notes_in_harte(
    row: Quality, bass: str | None, up: int
) -> None:
    """mir_eval 0.8 reads each label as the root, the intervals of our row, and the bass.

    up: of the bass over D, in semitones. 7alt keeps the plain 5 of its 7: without it (``*5``) that
    reader would no longer take the chord for a dominant seventh.
    """
    label = make_symbol("D", row.key, bass).harte
    root, name, added, low = mir_eval.chord.split(label, reduce_extended_chords=True)
    heard = {i for i, sounds in enumerate(mir_eval.chord.quality_to_bitmap(name)) if sounds}
    left_out = {_up(degree[1:]) for degree in added if degree.startswith("*")}
    heard |= {_up(degree) for degree in added if not degree.startswith("*")}
    assert root == "D"
    kept = {7} if row.key == "7alt" else set()
    assert heard - left_out == {interval % 12 for interval in row.intervals} | kept
    assert _up(low) == up


def _up(degree: str) -> int:
    """Semitones of one of Harte's degrees over the root, within an octave."""
    return int(mir_eval.chord.scale_degree_to_semitone(degree)) % 12
