"""The table of qualities against other libraries' chord tables."""

import json
from pathlib import Path
from typing import Any

import mir_eval
import pytest

from stackline.theory.chords.degrees import pitch_class, semitones
from stackline.theory.chords.qualities import FAMILIES, QUALITIES, Quality, by_key, quality

TABLES = json.loads((Path(__file__).parents[2] / "data/theory/chord_tables.json").read_text())
OURS = {"m7b5": "m7b5", "7#5": "7(#5)", "7sus4": "7sus", "9sus4": "9sus", "13sus4": "13sus",
        "7b9": "7(b9)", "7#9": "7(#9)", "7#11": "7(#11)", "maj7#11": "maj7(#11)",
        "7b13": "7(b13)", "7b9b13": "7(b9,b13)", "13b9": "13(b9)", "11": "9sus"}  # fmt: skip
# Where libraries differ, ours is: 13 and 13(b9) without the 11 (an avoid note over a major
# 3), maj13 and m13 likewise, m11 with the 9, 11 as 9sus, b13 beside the 5 (common practice).
DIFFERENT = {
    "maj13": {0, 2, 4, 7, 9, 11}, "m11": {0, 2, 3, 5, 7, 10}, "m13": {0, 2, 3, 7, 9, 10},
    "11": {0, 2, 5, 7, 10}, "13": {0, 2, 4, 7, 9, 10}, "7b13": {0, 4, 7, 8, 10},
    "7b9b13": {0, 1, 4, 7, 8, 10}, "13b9": {0, 1, 4, 7, 9, 10},
}  # fmt: skip


@pytest.mark.parametrize("row", TABLES, ids=lambda row: row["type"])
def test_chord_tones_are_those_that_libraries_agree_on(row: dict[str, Any]) -> None:
    """Where music21, pychord, mingus and tonal agree, so do we; elsewhere our reading stands."""
    ours = set(quality(OURS.get(row["type"], row["type"])).intervals)
    if row["type"] == "7alt":  # tonal leaves out the tensions; Harte spells ours in full
        assert ours >= set(row["tonal"])
    elif row["agree"]:
        assert ours == set(row["tonal"])
    else:
        assert ours == DIFFERENT[row["type"]]


@pytest.mark.parametrize("row", QUALITIES, ids=lambda row: row.key or "major")
def test_harte_notation_says_the_same_pitch_classes(row: Quality) -> None:
    """mir_eval (Harte et al. 2005) derives the row's pitch classes from its Harte text."""
    _, bitmap, _ = mir_eval.chord.encode(f"C:{row.harte}", reduce_extended_chords=True)
    expected = set(row.intervals) | ({7} if row.key == "7alt" else set())
    assert {pc for pc, on in enumerate(bitmap) if on} == expected


def test_keys_are_unique_and_families_known() -> None:
    """Every key names one row, and every row one of the six families."""
    assert len(by_key()) == len(QUALITIES)
    assert {row.family for row in QUALITIES} == set(FAMILIES)


def test_degrees_are_sizes_of_the_major_scale() -> None:
    """Common practice: a b9 is a minor ninth, a bb7 as wide as a major sixth."""
    sizes = {
        "R": 0,
        "b9": 13,
        "9": 14,
        "#9": 15,
        "#11": 18,
        "b13": 20,
        "13": 21,
        "bb7": 9,
        "b7": 10,
    }
    assert {degree: semitones(degree) for degree in sizes} == sizes
    assert pitch_class("13") == 9


def test_unknown_key_is_refused_with_examples() -> None:
    """A key that is not in the table is named in the error."""
    with pytest.raises(KeyError, match="no chord quality 'm31'"):
        quality("m31")
