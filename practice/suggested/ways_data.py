"""Ways as plain data for JSON."""

from collections.abc import Sequence
from typing import Any

from stackline.practice.suggested.suggestions import Suggestion
from stackline.practice.suggested.ways_text import drill_line
from stackline.practice.targets.numerals import key_name
from stackline.practice.targets.placing import note_names
from stackline.theory.stacks.hands import split_hands


def to_data(ways: Sequence[Suggestion]) -> dict[str, Any]:
    """The facts of each way: chords with stack, notes and hands; what moves; how to drill it."""
    return {"ways": [_way(one) for one in ways]}


def _way(way: Suggestion) -> dict[str, Any]:
    rows = zip(way.target.chords, way.pitches, strict=True)
    return {
        "family": way.family,
        "reharmonised": None if way.variant is None else way.variant.name,
        "key": key_name(way.key, minor=way.target.minor),
        "moved": round(way.moved, 3),
        "drill": drill_line(way),
        "chords": [
            {
                "symbol": chord.symbol(way.key).text,
                "stack": [str(degree) for degree in chord.degrees],
                "notes": list(note_names(chord, way.key, pitches)),
                "pitches": list(pitches),
                "left_hand": split_hands(pitches).left_count,
            }
            for chord, pitches in rows
        ],
    }
