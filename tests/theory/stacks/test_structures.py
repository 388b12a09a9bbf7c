"""Kinds of voicing, against published stacks and the traps of the trade."""

import json
from pathlib import Path
from typing import Any

import pytest

from stackline.theory.chords.degrees import name_degree
from stackline.theory.stacks import kinds
from stackline.theory.stacks.structures import locked_runs, structures

DATA = Path(__file__).parents[2] / "data/theory"
STACKS = json.loads((DATA / "stacks.json").read_text())
LEFT_HAND = [row for row in json.loads((DATA / "rootless_lefthand.json").read_text())
             if "error_in_source" not in row]  # fmt: skip
# The source's words and ours for the same kind; a lone block chord is no locked hands yet.
WORDS = {
    "rootless, 7th(6th) at the bottom": (kinds.ROOTLESS_7, kinds.ROOTLESS_6),
    "locked hands (four-way close + lead doubled 8vb)": (kinds.BLOCK,),
    "drop2": (kinds.DROP_2,), "drop2&4": (kinds.DROP_24,),
    "shell: rooted": (kinds.SHELL,), "shell: guide tones": (kinds.GUIDE_TONES,),
    "fourths (with a tritone)": (kinds.FOURTHS,),
}  # fmt: skip
FAMILIES = {"m7": "minor", "7": "dominant", "^7": "major", "m7b5": "half-diminished",
            "7b9": "dominant", "7b13": "dominant", "o7": "diminished", "7#9": "dominant",
            "mM7": "minor", "m6": "minor"}  # fmt: skip


def ours(words: str) -> tuple[str, ...]:
    """Our names for a source's kind."""
    if words.startswith("upper-structure triad "):
        degree, mode = words.split()[-2:]
        return (kinds.upper_structure(degree, mode),)
    return WORDS.get(words, (words,))


def names(intervals: list[int], family: str) -> list[str]:
    """Degrees of intervals, low to high, as texts."""
    over = {step % 12 for step in intervals}
    return [str(name_degree(step, family, over)) for step in intervals]


@pytest.mark.parametrize("row", STACKS, ids=lambda row: row["name"])
def test_published_stacks_are_classified_as_stated(
    row: dict[str, Any],
) -> None:
    """Primary kind and degrees of 30 stacks; the source stands in each row."""
    found = structures(row["pitches"], row["root"], row["family"])
    assert found[0] in ours(row["expected"])
    assert names([p - row["root"] for p in row["pitches"]], row["family"]) == row["degrees"]


@pytest.mark.parametrize("row", LEFT_HAND, ids=lambda row: f"{row['type']} {row['intervals']}")
def test_left_hand_stacks_are_classified_as_stated(
    row: dict[str, Any],
) -> None:
    """The valid rows of a published voicing dictionary: every stated kind, and the degrees."""
    family = FAMILIES[row["type"]]
    found = structures([60 + step for step in row["semitones"]], 0, family)
    assert found[0] in ours(row["classes"][0])
    assert all(set(ours(stated)) & set(found) for stated in row["classes"])
    assert names(row["semitones"], family) == row["degrees"]


@pytest.mark.parametrize("row", STACKS, ids=lambda row: row["name"])
def test_twelve_transpositions_keep_kind_and_degrees(
    row: dict[str, Any],
) -> None:
    """Moving notes and root together changes nothing."""
    before = structures(row["pitches"], row["root"], row["family"])
    for up in range(1, 12):
        moved = [pitch + up for pitch in row["pitches"]]
        assert structures(moved, (row["root"] + up) % 12, row["family"]) == before


def test_traps_show_both_kinds() -> None:
    """3 6 9 5 is fourths and drop 2; b7 3 13 b9 is rootless and drop 2 (common practice)."""
    six_nine = structures([52, 57, 62, 67], 0, "major")
    assert {kinds.FOURTHS, kinds.DROP_2} <= set(six_nine)
    assert structures([53, 59, 64, 68], 7, "dominant") == (kinds.ROOTLESS_OPEN, kinds.DROP_2)


# Common practice.
@pytest.mark.parametrize(
    ("pitches", "root", "family", "expected"),
    [
        ([48, 60], 0, "major", (kinds.OCTAVES,)),
        ([60, 64, 67], 0, "major", (kinds.ROOTED_CLOSE,)),
        ([48, 55, 64], 0, "major", (kinds.TENTH,)),
        ([48, 64], 0, "major", (kinds.SHELL, kinds.TENTH)),
        ([48, 58, 63], 0, "minor", (kinds.SHELL, kinds.TENTH)),
        ([52, 55, 60], 0, "major", (kinds.TRIAD_3,)),
        ([43, 48, 52, 55], 0, "major", (kinds.TRIAD_5,)),
        (
            [43, 53, 57, 60],
            7,
            "suspended",
            ("slash chord, major triad on the b7 over the R", kinds.DROP_3, kinds.SPREAD),
        ),
        ([48, 62, 66, 69], 2, "major", ("slash chord, major triad on the R over the b7",)),
        ([48, 52, 55, 59], 0, "major", (kinds.FOUR_WAY,)),
        (
            [48, 52, 55, 62, 66, 69],
            0,
            "major",
            ("polychord, major triad on the 9 over major triad on the R",),
        ),
        ([60, 62, 64, 66], 0, "dominant", (kinds.FOUR_WAY, kinds.CLUSTER)),
        ([52, 55], 0, "major", (kinds.ROOTLESS_CLOSE,)),
        ([53, 57, 58, 62], 7, "suspended", (kinds.FOUR_WAY,)),
        ([60, 64, 65, 69], 7, "suspended", (kinds.ROOTLESS_4,)),
        ([57, 62, 64, 67], 0, "major", (kinds.ROOTLESS_6,)),
    ],
)
def test_plain_and_odd_stacks(
    pitches: list[int], root: int, family: str, expected: tuple[str, ...]
) -> None:
    """Octaves, bare triads, clusters and the 4th or 6th at the bottom."""
    assert structures(pitches, root, family) == expected


def test_locked_hands_need_three_in_a_row_with_a_stepwise_top() -> None:
    """Two block chords are block chords; three with a stepwise lead are locked hands."""
    assert locked_runs([True] * 3, [67, 69, 71]) == [True] * 3
    assert locked_runs([True] * 2, [67, 69]) == [False] * 2
    assert locked_runs([True] * 3, [67, 72, 74]) == [False] * 3
    assert locked_runs([True, True, False, True], [67, 69, 70, 72]) == [False] * 4
    assert locked_runs([True] * 4 + [False], [67, 69, 67, 65, 64]) == [True] * 4 + [False]
