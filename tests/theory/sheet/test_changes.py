"""Changes as text: bars, repeats, rests, faults, transposition."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.qualities import QUALITIES
from stackline.theory.chords.spelling import name_at
from stackline.theory.chords.symbols import make_symbol
from stackline.theory.sheet.changes import Changes, place_chords
from stackline.theory.sheet.changes_text import parse_changes


def texts(changes: Changes) -> list[list[str | None]]:
    """Bars as lists of symbol texts."""
    return [[c.text if c else None for c in bar.chords] for bar in changes.bars]


def test_bars_repeats_and_rests() -> None:
    """A % repeats the bar, or beside chords the chord; N.C. rests; quoted remarks are left out."""
    found = parse_changes('| Dm9 G13 | Cmaj9 | % |  "first line"\nA7 % Dm7 | N.C. | F6/9 |')
    assert texts(found) == [
        ["Dm9", "G13"], ["Cmaj9"], ["Cmaj9"], ["A7", "A7", "Dm7"], [None], ["F6/9"],
    ]  # fmt: skip


def test_a_typo_is_underlined_in_its_line() -> None:
    """The complaint shows the line and the place, and says what was expected."""
    with pytest.raises(Complaint, match="a quality such as 7, m9, maj7") as caught:
        parse_changes("| Dm9 | G31(b9) |\n| Cmaj9 | % |")
    assert "    | Dm9 | G31(b9) |\n             ^~" in str(caught.value)


@pytest.mark.parametrize("text", ["", "  \n", "| |", "# nothing", "[A]"])
def test_empty_changes_are_refused(text: str) -> None:
    """Without a chord there is nothing to follow; an example is given."""
    with pytest.raises(Complaint, match=r"write bars such as \| Dm9"):
        parse_changes(text)


def test_a_repeat_needs_something_before_it() -> None:
    """A first % has nothing to repeat."""
    with pytest.raises(Complaint, match="a chord before the first %"):
        parse_changes("| % | Dm9 |")


# Common practice: earlier chords get the beats that are over.
@pytest.mark.parametrize(
    ("text", "beats", "expected"),
    [
        ("| Dm9 G13 |", 4, [(0, 2), (2, 2)]),
        ("| Dm9 G13 C6 |", 4, [(0, 2), (2, 1), (3, 1)]),
        ("| Dm9 G13 |", 3, [(0, 2), (2, 1)]),
        ("| Dm9 |", 5, [(0, 5)]),
    ],
)
def test_chords_share_a_bar(text: str, beats: int, expected: list[tuple[int, int]]) -> None:
    """Start and length of each chord in beats."""
    placed = place_chords(parse_changes(text), beats)
    assert [(one.beat, one.beats) for one in placed] == expected


CHORD = st.builds(
    lambda place, row: make_symbol(name_at(place), row.key),
    st.integers(-6, 6),
    st.sampled_from(QUALITIES),
)


@given(st.lists(st.lists(st.one_of(st.none(), CHORD), min_size=1, max_size=4), min_size=1))
def test_printing_then_parsing_is_identity(bars: list[list[ChordSymbol | None]]) -> None:
    """Any bars of chords survive being written down."""
    rows = (" ".join(c.text if c else "N.C." for c in bar) for bar in bars)
    changes = parse_changes(f"| {' | '.join(rows)} |")
    again = [[chord.text if chord else "N.C." for chord in bar.chords] for bar in changes.bars]
    assert again == [[c.text if c else "N.C." for c in bar] for bar in bars]
