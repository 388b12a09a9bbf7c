"""Suggestions: the textbook is among them, a melody is kept, other chords have their names."""

import json

import pytest

from stackline.practice.suggested.reharmonised import variants
from stackline.practice.suggested.suggestions import reharmonised, suggestions
from stackline.practice.suggested.ways_text import drill_line, render
from stackline.practice.targets.target_text import home_key, parse_target
from stackline.shared.complaint import Complaint
from stackline.theory.ways.reach import Reach, read_reach
from tests.support.places import ROOT

TEXTBOOK = json.loads((ROOT / "tests/data/theory/two_five_one_ways.json").read_text())


@pytest.mark.parametrize("row", TEXTBOOK, ids=lambda row: " ".join(row["stacks"]))
def test_textbook_ways_through_a_ii_v_i_are_found(row: dict[str, str]) -> None:
    """Twenty rows; each names where it was read, or common practice."""
    target, key = parse_target(row["chords"]), home_key(row["chords"])
    found = suggestions(target, key, read_reach(row["hands"], "9th"))
    stacks = [[" ".join(map(str, chord.degrees)) for chord in way.target.chords] for way in found]
    assert row["stacks"] in stacks


def test_the_line_to_drill_reads_back_as_the_same_stacks() -> None:
    """The line to drill reads back as the same stacks."""
    target = parse_target("Dm7 | G7 | Cmaj7")
    for way in suggestions(target, 0, Reach()):
        again = parse_target(drill_line(way))
        assert [one.stack for one in again.chords] == [one.stack for one in way.target.chords]
        assert [one.quality for one in again.chords] == [one.quality for one in way.target.chords]


def test_tops_must_be_as_many_as_chords_and_possible() -> None:
    """Tops must be as many as chords and possible."""
    target = parse_target("Dm9 | G13 | C6/9")
    with pytest.raises(Complaint, match="2 degrees on top for 3 chords"):
        suggestions(target, 0, Reach(), ["9", "13"])
    with pytest.raises(Complaint, match="no voicing within reach"):
        suggestions(target, 0, Reach(), ["b9", "13", "9"])
    with pytest.raises(Complaint, match="no degree"):
        suggestions(target, 0, Reach(), ["9", "x", "9"])


@pytest.mark.parametrize(
    ("text", "name", "symbols"),
    [  # common practice, each as every harmony book has it
        ("Dm7 | G7 | Cmaj7", "tritone substitute", ["Dm7", "Db9(#11)", "Cmaj7"]),
        ("Dm7 | G7 | Cmaj7", "back door", ["Fm7", "Bb9", "Cmaj7"]),
        ("Cmaj7 | Dm7 | G7 | Cmaj7", "passing diminished",
         ["Cmaj7", "C#dim7", "Dm7", "G7", "Cmaj7"]),
        ("Cmaj7 | Dm7 | G7 | Cmaj7", "secondary dominant", ["Cmaj7", "A7", "Dm7", "G7", "Cmaj7"]),
    ],
)  # fmt: skip
def test_other_chords_for_the_same_changes(text: str, name: str, symbols: list[str]) -> None:
    """Other chords for the same changes."""
    found = [one for one in variants(parse_target(text)) if one.name == name]
    assert symbols in [list(one.target.symbols(0)) for one in found]


def test_a_variant_lasts_as_long_as_what_it_stands_for() -> None:
    """A variant lasts as long as what it stands for."""
    target = parse_target("Cmaj7 | Dm7 | G7 | Cmaj7")
    for one in variants(target):
        assert sum(one.target.beats) == sum(target.beats)


def test_variants_are_voiced_and_named() -> None:
    """Variants are voiced and named."""
    found = reharmonised(parse_target("Dm7 | G7 | Cmaj7"), 0, Reach())
    text = render(found, "study")
    assert "tritone substitute, Db9(#11)" in text
    assert "back door" in text
    assert "drill --key C" in text


def test_a_minor_resolution_has_no_back_door_to_a_major_i() -> None:
    """A minor resolution has no back door to a major i."""
    assert all(one.name != "back door" for one in variants(parse_target("Dm7b5 | G7 | Cm6")))
