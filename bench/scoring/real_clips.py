"""Real recordings with the truth of their notes: how right their notes are.

A folder holds ``NAME.json``, ``{"notes": [[onset_s, offset_s, midi], ...]}``, and a recording
``NAME.flac`` beside each. Notes: precision, recall and F of mir_eval.transcription (0.8), onsets
within 50 ms, offsets not scored. Sets: of the places where three notes and more are struck within
40 ms, how many are heard exactly: the notes heard from 60 ms before to 60 ms after are just these.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import mir_eval
import numpy as np

from bench.scoring.listeners import Listener
from bench.scoring.pooled import Rate
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Note
from stackline.shared.units import midi_to_hz

ONSET_TOLERANCE_S = 0.05
TOGETHER_S, NEAR_S, FEWEST = 0.04, 0.06, 3

TrueNotes = Sequence[tuple[float, float, int]]


@dataclass(frozen=True, kw_only=True)
class ClipScore:
    """How right one recording's notes are. sets: chords of three notes and more, exact."""

    name: str
    precision: float
    recall: float
    f1: float
    sets: Rate


def score_clips(folder: Path, listener: Listener) -> Iterator[ClipScore]:
    """Score every clip of a folder; raises Complaint where there is none."""
    truths = sorted(path for path in folder.glob("*.json") if path.with_suffix(".flac").is_file())
    if not truths:
        raise Complaint(f"{folder} holds no recording (NAME.flac with NAME.json beside it)")
    for truth in truths:
        (heard,) = listener.listen([truth.with_suffix(".flac")])
        data = json.loads(truth.read_text(encoding="utf-8"))
        true = [(float(start), float(end), int(midi)) for start, end, midi in data["notes"]]
        yield score_clip(truth.stem, true, heard.notes)


def score_clip(name: str, true: TrueNotes, heard: Sequence[Note]) -> ClipScore:
    """Score the notes heard in one recording."""
    precision = recall = f1 = 0.0
    if true and heard:
        precision, recall, f1, _ = mir_eval.transcription.precision_recall_f1_overlap(
            *_arrays([(start, end, midi) for start, end, midi in true]),
            *_arrays([(note.onset_s, note.offset_s, note.midi) for note in heard]),
            onset_tolerance=ONSET_TOLERANCE_S, offset_ratio=None,
        )  # fmt: skip
    fates = [_is_exact(group, heard) for group in _struck_together(true) if len(group) >= FEWEST]
    sets = Rate(right=sum(fates), total=len(fates))
    return ClipScore(
        name=name, precision=float(precision), recall=float(recall), f1=float(f1), sets=sets
    )


def _arrays(notes: TrueNotes) -> tuple[np.ndarray, np.ndarray]:
    """Onsets and ends, (n, 2), and pitches in Hz, as mir_eval takes them."""
    spans = np.array([(start, max(end, start + 0.01)) for start, end, _ in notes])
    return spans, np.array([midi_to_hz(midi) for _, _, midi in notes])


def _struck_together(true: TrueNotes) -> list[list[tuple[float, int]]]:
    groups: list[list[tuple[float, int]]] = []
    for onset, midi in sorted((start, midi) for start, _, midi in true):
        if groups and onset - groups[-1][0][0] <= TOGETHER_S:
            groups[-1].append((onset, midi))
        else:
            groups.append([(onset, midi)])
    return groups


def _is_exact(group: list[tuple[float, int]], heard: Sequence[Note]) -> bool:
    first, last = group[0][0] - NEAR_S, group[-1][0] + NEAR_S
    found = {note.midi for note in heard if first <= note.onset_s <= last}
    return found == {midi for _, midi in group}
