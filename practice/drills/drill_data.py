"""A drill as plain data for JSON, format 1."""

from typing import Any

from stackline.practice.drills.drill import Drill
from stackline.practice.targets.numerals import key_name
from stackline.practice.written.review_data import target_data


def to_data(drill: Drill) -> dict[str, Any]:
    """Keys in order, each voicing with its beat counted from the count-in."""
    struck = drill.struck()
    return {
        "format": 1,
        "target": target_data(drill.target),
        "tempo_bpm": drill.tempo_bpm,
        "beats_per_bar": drill.beats_per_bar,
        "meter": drill.meter,
        "count_in_bars": drill.count_in,
        "answer": drill.answer,
        "keys": [
            {
                "key": key_name(placed.key, minor=drill.target.minor),
                "voicings": [
                    {
                        "symbol": one.chord.symbol(placed.key).text,
                        "stack": list(map(str, one.chord.degrees)),
                        "midi": list(one.pitches),
                        "start_beat": float(one.start),
                        "beats": float(one.beats),
                    }
                    for one in struck
                    if one.key == place
                ],
                "cautions": list(placed.cautions),
            }
            for place, placed in enumerate(drill.keys)
        ],
    }
