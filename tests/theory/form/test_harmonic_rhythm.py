"""Harmonic rhythm: which place a chord belongs to, how long it lasts, how bars are struck.

Expected words and places are common practice of comping: an "and" of four before a new bar
anticipates it; dotted quarter and eighth is the figure of 1 and 2&.
"""

from collections.abc import Sequence
from fractions import Fraction

import pytest

from stackline.shared.notes import Note
from stackline.shared.rhythm import HarmonicRhythm
from stackline.shared.take import Take
from stackline.theory.form.harmonic_rhythm import figure
from stackline.theory.reading import read
from stackline.theory.sheet.changes_text import parse_changes
from tests.support.takes.played_takes import grid_of, struck, take_of

D_MINOR = (53, 57, 60, 64)  # F A C E: Dm9 without its root
G_SEVEN = (53, 57, 59, 64)  # F A B E: G13 without its root
C_MAJOR = (52, 55, 59, 62)  # E G B D: Cmaj9 without its root
A_SEVEN = (55, 58, 61, 66)  # G Bb Db Gb: A13(b9) without its root

Played = Sequence[tuple[str, tuple[int, ...]]]


def _take(played: Played, *, beats: float = 0.9, per_bar: int = 4) -> Take:
    """Chords at beats counted through the take from 0."""
    notes: list[Note] = []
    for place, pitches in played:
        notes += struck(pitches, Fraction(place), beats)
    return take_of(notes, grid_of(17, per_bar))


def _told(take: Take) -> list[tuple[int, Fraction, str | None]]:
    return [
        (one.position.bar, one.position.beat, one.placing)
        for one in take_rhythm(take).chords
        if one.position
    ]


def take_rhythm(take: Take) -> HarmonicRhythm:
    """The rhythm as the theory room gives it."""
    return read(take.attacks, take.grid, end_s=take.source.duration_s).rhythm


def test_an_and_of_four_belongs_to_the_next_bar() -> None:
    """A new chord on 4& is anticipated: it belongs to the first beat of the next bar."""
    take = _take([("0", D_MINOR), ("7/2", G_SEVEN), ("8", C_MAJOR)])
    assert _told(take) == [
        (1, 1, "on the beat"),
        (2, 1, "anticipated"),
        (3, 1, "on the beat"),
    ]
    assert [one.beats for one in take_rhythm(take).chords] == [4, 4, None]
    assert [bar.chords for bar in take_rhythm(take).bars] == [1, 1, 1]


def test_an_off_beat_before_another_chord_is_not_its_anticipation() -> None:
    """Where another chord comes on the next strong beat, the off-beat one stays by itself."""
    take = _take([("0", D_MINOR), ("7/2", A_SEVEN), ("4", G_SEVEN)], beats=0.4)
    assert _told(take)[1] == (1, Fraction(9, 2), "off the beat")


def test_a_chord_just_after_a_strong_beat_is_delayed() -> None:
    """A chord on 1& belongs to the first beat, late."""
    take = _take([("0", D_MINOR), ("9/2", G_SEVEN), ("8", C_MAJOR)])
    assert _told(take)[1] == (2, 1, "delayed")


def test_a_restrike_is_part_of_the_chord_that_lasts() -> None:
    """The same chord struck again begins nothing; the chord lasts until it changes."""
    take = _take([("0", D_MINOR), ("3/2", D_MINOR), ("4", D_MINOR), ("8", G_SEVEN)])
    chords = take_rhythm(take).chords
    assert [one.voicings for one in chords] == [3, 1]
    assert chords[0].beats == 8
    assert chords[0].end_s == chords[1].start_s == pytest.approx(0.6 + 8 * 0.75)
    assert chords[1].end_s == take.source.duration_s
    assert [bar.figure for bar in take_rhythm(take).bars] == [
        "dotted quarter and eighth tied over", "whole note", "whole note",
    ]  # fmt: skip


def test_written_changes_decide_where_a_chord_belongs() -> None:
    """A chord that paper has on beat 2 is anticipated when it is struck on 1&."""
    take = _take([("0", D_MINOR), ("1/2", G_SEVEN), ("4", C_MAJOR)], beats=0.4)
    changes = parse_changes("| Dm9 G13 G13 G13 | Cmaj9 |")
    rhythm = read(take.attacks, take.grid, changes=changes, end_s=9.0).rhythm
    second = rhythm.chords[1]
    assert second.position is not None
    assert (second.position.bar, second.position.beat) == (1, 2)
    assert second.placing == "anticipated"


def test_without_a_grid_chords_last_in_seconds_only() -> None:
    """No place is invented where no beat was found."""
    notes = struck(D_MINOR, Fraction(0), 0.9) + struck(G_SEVEN, Fraction(4), 0.9)
    take = take_of(notes, grid_of(0))
    rhythm = take_rhythm(take)
    assert [(one.position, one.placing, one.beats) for one in rhythm.chords] == [(None,) * 3] * 2
    assert rhythm.chords[0].end_s == pytest.approx(0.6 + 4 * 0.75)
    assert rhythm.bars == ()


@pytest.mark.parametrize(
    ("places", "per_bar", "words"),
    [
        (("0",), 4, "whole note"),
        (("0",), 3, "dotted half note"),
        (("0", "3/2"), 4, "dotted quarter and eighth tied over"),
        (("0", "3/2", "2"), 4, "dotted quarter, eighth and half"),
        (("0", "1", "2", "3"), 4, "quarter, quarter, quarter and quarter"),
        (("0", "7/2"), 4, "dotted half tied over and eighth"),
        (("1", "3"), 4, "from beat 2: half and quarter"),
        (("3/2", "7/2"), 4, "from beat 2&: eighth tied over and eighth"),
        (("0", "1/3", "2/3"), 3, "triplet eighth, triplet eighth and triplet eighth tied over"),
        ((), 4, ""),
    ],
)
def test_figures_are_named_by_their_note_values(
    places: tuple[str, ...], per_bar: int, words: str
) -> None:
    """Each strike lasts to the next one or to the bar line."""
    assert figure([Fraction(place) for place in places], per_bar) == words
