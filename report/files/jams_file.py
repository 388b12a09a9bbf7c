"""A take as JAMS: annotations that music research tools read.

Notes (`note_midi`), beats (`beat_position`) and tempo where there is a pulse, chords in Harte
syntax (`chord`), and key centres (`key_mode`), each with its confidence; a chord that is not
sure keeps its name here, since the format has a column for doubt.

Source of the format: Humphrey et al., "JAMS: a JSON annotated music specification for
reproducible MIR research" (ISMIR 2014). The tests read every document with the jams package,
strictly, against its own schemas.
"""

import json
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from stackline.report.words.marks import one_line
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from stackline.theory.form.key_centres import key_centres

SCHEMA = "0.3.5"  # the version of JAMS that is written
Row = tuple[float, float, Any, float | None]  # time in s, duration in s, value, confidence


def render(view: TakeView) -> str:
    """The take as JAMS text (JSON)."""
    take = view.take
    document = {
        "annotations": [_annotation(take, namespace, rows) for namespace, rows in _tables(take)],
        "file_metadata": {
            "title": one_line(take.source.name),
            "duration": take.source.duration_s,
            "identifiers": {"sha256": take.source.sha256},
            "jams_version": SCHEMA,
        },
        "sandbox": {},
    }
    return json.dumps(document, indent=2) + "\n"


def _annotation(take: Take, namespace: str, rows: list[Row]) -> dict[str, Any]:
    heads = ("time", "duration", "value", "confidence")
    return {
        "namespace": namespace,
        "annotation_metadata": {
            "annotation_tools": f"stackline {take.version}; {take.ear}",
            "data_source": "program",
        },
        "time": 0,
        "duration": take.source.duration_s,
        "data": [dict(zip(heads, row, strict=True)) for row in rows],
        "sandbox": {},
    }


def _tables(take: Take) -> Iterator[tuple[str, list[Row]]]:
    """Each namespace with its rows, empty ones left out."""
    for namespace, rows in (
        ("note_midi", _notes(take)),
        ("beat_position", _beats(take)),
        ("tempo", _tempo(take)),
        ("chord", _chords(take)),
        ("key_mode", _keys(take)),
    ):
        if rows:
            yield namespace, rows


def _notes(take: Take) -> list[Row]:
    return [
        (note.onset_s, note.offset_s - note.onset_s, note.midi, note.confidence)
        for note in take.notes
    ]


def _beats(take: Take) -> list[Row]:
    grid = take.grid
    return [
        (
            beat.time_s,
            0.0,
            {
                "position": beat.number,
                "measure": bar,
                "num_beats": max(grid.beats_per_bar, beat.number),
                "beat_units": 4,
            },
            grid.confidence,
        )
        for beat, bar in zip(grid.beats, grid.bars(), strict=True)
    ]


def _tempo(take: Take) -> list[Row]:
    if take.grid.tempo_bpm is None:
        return []
    return [(0.0, take.source.duration_s, take.grid.tempo_bpm, take.grid.confidence)]


def _chords(take: Take) -> list[Row]:
    """Each chord once, cut where the next begins."""
    chords = sorted({v.chord: None for v in take.voicings}, key=lambda chord: chord.start_s)
    ends = [min(a.end_s, b.start_s) for a, b in pairwise(chords)] + [
        chord.end_s for chord in chords[-1:]
    ]
    return [
        (chord.start_s, end - chord.start_s, chord.symbol.harte, chord.confidence)
        for chord, end in zip(chords, ends, strict=True)
        if end > chord.start_s
    ]


def _keys(take: Take) -> list[Row]:
    """Key centres, each until the next begins."""
    centres = key_centres(take.voicings)
    starts = [take.voicings[centre.first].attack.onset_s for centre in centres]
    ends = [*starts[1:], *([take.source.duration_s] if starts else [])]
    return [
        (start, max(end - start, 0.0), f"{centre.key.tonic}:{_mode(centre.key.minor)}", None)
        for centre, start, end in zip(centres, starts, ends, strict=True)
    ]


def _mode(minor: bool) -> str:
    return "minor" if minor else "major"
