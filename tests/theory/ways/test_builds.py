"""Voicings by rule: textbook ones are there, and none goes against its symbol."""

import json

import pytest

from stackline.theory.chords.qualities import quality
from stackline.theory.ways.builds import builds, made_quality
from stackline.theory.ways.families import BY_NAME, FAMILIES, members
from tests.support.places import ROOT

DATA = ROOT / "tests" / "data" / "theory"
SYMBOLS = {  # the dictionary's names of chords, as ours; it plays a b9 and a b13 for either
    "m7": "m7", "7": "7", "^7": "maj7", "m7b5": "m7b5", "7b9": "7(b9,b13)", "7b13": "7(b9,b13)",
    "o7": "dim7", "7#9": "7(#9)", "mM7": "mMaj7", "m6": "m6",
}  # fmt: skip
COMMON = ("m9", "13", "13(b9)", "maj9", "6/9", "7", "m7", "maj7", "m7b5", "7alt", "dim7", "9sus")


def _stacks(key: str) -> set[str]:
    return {" ".join(one.degrees) for one in builds(key)}


def test_a_dictionary_of_left_hand_shapes_is_found() -> None:
    """@tonaljs/voicing-dictionary 5.1.2 (MIT); its two faulty rows are marked in the file."""
    rows = json.loads((DATA / "rootless_lefthand.json").read_text())
    sound = [row for row in rows if "error_in_source" not in row]
    assert len(sound) == 19
    for row in sound:
        assert " ".join(row["degrees"]) in _stacks(SYMBOLS[row["type"]]), row


@pytest.mark.parametrize(
    ("key", "stack"),
    [
        ("maj7", "5 R 3 7"),  # drop 2 of R 3 5 7 with the 7 on top: outsideshore.com's rule
        ("7", "5 R 3 b7"),
        ("m7", "R 5 b7 b3"),
        ("6", "5 6 R 3 5"),  # locked hands: thejazzpianosite.com
        ("7", "R 5 3 b7"),  # drop 2&4: robin-hoffmann.com
    ],
)
def test_drops_of_published_chords_are_there(key: str, stack: str) -> None:
    """Drops of published chords are there."""
    assert stack in _stacks(key)


def test_a_written_alteration_sounds_and_nothing_stands_against_it() -> None:
    """A 13(b9) has its b9 and no natural 9, but in shells and guide tones (common practice)."""
    for one in builds("13(b9)"):
        assert "b9" in one.degrees or set(one.degrees) <= {"R", "3", "b7"}, one
        assert not {"9", "11", "7", "b13"} & set(one.degrees), one


def test_a_plain_seventh_leaves_its_tensions_open() -> None:
    """A plain seventh leaves its tensions open."""
    stacks = _stacks("7")
    assert {"b7 9 3 13", "b7 b9 3 b13", "3 b13 b7 #9"} <= stacks
    assert made_quality(quality("7"), ("b7", "9", "3", "13")) == "13"


def test_the_eleventh_belongs_to_the_ii_and_not_to_a_minor_tonic() -> None:
    """Common practice: m7 takes the 11 for the 5, m6 does not, but in a stack of fourths."""
    assert any("11" in one.degrees for one in builds("m7"))
    with_it = [one for one in builds("m6") if "11" in one.degrees]
    assert all(any("fourths" in kind for kind in one.kinds) for one in with_it)


@pytest.mark.parametrize("key", COMMON)
def test_every_build_rises_and_comes_once(key: str) -> None:
    """Every build rises and comes once."""
    found = builds(key)
    assert len({one.heights for one in found}) == len(found)
    for one in found:
        assert list(one.heights) == sorted(set(one.heights))
        assert len(one.heights) == len(one.degrees)


def test_members_hold_all_that_a_symbol_writes_where_some_do() -> None:
    """Members hold all that a symbol writes where some do."""
    for one in members("rootless", "m9"):
        assert {"b3", "5", "b7", "9"} == set(one.degrees)
    assert all(BY_NAME[name].name == name for family in FAMILIES for name in family.beside)
