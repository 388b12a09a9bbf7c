"""Changes as players type them: a list from the trade, and nothing lost in silence."""

import re
import warnings
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import harmony
from pychord import Chord

from stackline.shared.complaint import Complaint
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.sheet.changes import Changes, PlacedChord, place_chords, place_pickup
from stackline.theory.sheet.changes_text import parse_changes
from tests.support.places import ROOT

LIST = Path(ROOT) / "tests/data/theory/typed_changes.tsv"


def rows() -> list[tuple[str, str]]:
    """Text and meaning of every row of the list."""
    lines = LIST.read_text(encoding="utf-8").splitlines()
    pairs = [line.split("\t") for line in lines if "\t" in line]
    return [(text.replace("\\n", "\n"), meaning) for text, meaning in pairs]


READ = [row for row in rows() if not row[1].startswith("!")]
REFUSED = [(text, meaning[1:]) for text, meaning in rows() if meaning.startswith("!")]


def written_out(changes: Changes) -> str:
    """A form in the words of the list."""
    own = changes.beats_per_bar or 4
    head = f"{changes.meter[0]}/{changes.meter[1]} " if changes.meter else ""
    if changes.pickup:
        head += f"pickup {_bars(place_pickup(changes, own), own)} | "
    return head + _bars(place_chords(changes, own), own)


def _bars(placed: tuple[PlacedChord, ...], own: int) -> str:
    by_bar: dict[int, list] = {}
    for one in placed:
        by_bar.setdefault(one.bar, []).append(one)
    return " | ".join(_bar(row, own) for _, row in sorted(by_bar.items()))


def _bar(row: list[PlacedChord], own: int) -> str:
    even = all(one.beats * len(row) == own for one in row)
    names = [one.symbol.text if one.symbol else "N.C." for one in row]
    lengths = ["" if even else f":{one.beats}" for one in row]
    return " ".join(name + length for name, length in zip(names, lengths, strict=True))


def test_the_list_is_long_enough() -> None:
    """At least 150 rows in all."""
    assert len(READ) + len(REFUSED) >= 150


@pytest.mark.parametrize(("text", "meaning"), READ)
def test_what_players_type_is_read(text: str, meaning: str) -> None:
    """The form as it is played, bar by bar."""
    assert written_out(parse_changes(text)) == meaning


@pytest.mark.parametrize(("text", "named"), REFUSED)
def test_what_is_not_read_is_named(text: str, named: str) -> None:
    """The complaint quotes what it cannot read."""
    with pytest.raises(Complaint) as caught:
        parse_changes(text)
    assert named in str(caught.value).splitlines()[0]


LINED = [text for text, _ in READ if "|" in text and '"' not in text and "#  " not in text]
PLACES = [
    (text, match.end())
    for text in LINED
    for match in re.finditer(r"[|]\s|\s(?=[|])", text)
    if not text.startswith("# ")
]


@given(st.sampled_from(PLACES), st.sampled_from(["qua", "Cqua", "7qua", "¿", "Gm7qua"]))
def test_nothing_is_lost_in_silence(place: tuple[str, int], strange: str) -> None:
    """A word that means nothing is complained of wherever it stands."""
    text, at = place
    with pytest.raises(Complaint) as caught:
        parse_changes(f"{text[:at]} {strange} {text[at:]}")
    assert any(part in str(caught.value) for part in (strange, strange.lstrip("7"), strange[-3:]))


def _by_pychord(text: str) -> frozenset[int] | None:
    try:
        return frozenset(pitch_class_of(name) for name in Chord(text).components(visible=True))
    except Exception:  # a library that does not know the spelling has no say
        return None


def _by_music21(text: str) -> frozenset[int] | None:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return frozenset(p.pitchClass for p in harmony.ChordSymbol(text).pitches)
    except Exception:
        return None


SINGLE = [(text, meaning) for text, meaning in READ if re.fullmatch(r"C\S+", text)]
# Where both libraries agree and we do not, the reason:
OURS = {
    "C7#9#5": "a #5 beside an altered 9 is a b13, and the 5 may stay (our reading)",
    "C11": "11 alone is 9sus: the 3 and the 11 are not played together (our reading)",
}


def test_single_chords_have_the_notes_of_two_libraries_where_those_agree() -> None:
    """The libraries pychord and music21 are the other pen."""
    agreed, differing = 0, []
    for text, _ in SINGLE:
        one, two = _by_pychord(text), _by_music21(text)
        if one is None or one != two:
            continue
        agreed += 1
        (chord,) = parse_changes(text).chords
        assert chord is not None
        root = pitch_class_of(chord.root)
        ours = frozenset((root + step) % 12 for step in quality(chord.quality).intervals)
        if ours != one and text not in OURS:
            differing.append((text, sorted(one), sorted(ours)))
    assert agreed >= 15
    assert not differing


def test_remarks_say_what_was_read_otherwise() -> None:
    """No bar lines, small letters, an empty bar, a lone letter."""
    assert "each chord was given a bar" in parse_changes("Dm7 G7 C6").remarks[0]
    assert "a as Am, d7 as Dm7" in parse_changes("| a d7 | G7 |").remarks[0]
    assert "left empty" in parse_changes("| C | | F |").remarks[0]
    assert "read as a section" in parse_changes("A\n| C | F |").remarks[0]
    assert parse_changes("| Dm7 | G7 |").remarks == ()
