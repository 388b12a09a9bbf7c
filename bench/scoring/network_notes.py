"""The general ear's network with nothing of ours behind it: the peer of the accuracy bench.

Its activations become notes as its makers describe it (Bittner et al., "A lightweight
instrument-agnostic model for polyphonic note transcription and multipitch estimation", ICASSP
2022): each peak in time of the onset activations of 0.5 and more begins a note, from the
last peak to the first; it goes on while its key's activation is 0.3 and more, over gaps of up to
eleven frames, and takes what it covers with it; less than eleven frames (128 ms) are no note.
No tuning, no classifier, no attack of ours.

basic-pitch's own program does more at this point (onsets inferred from rises, a second round
over what is left); `bench/README.md` has how near the two are, and how to compare with its own.
"""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from bench.scoring.listeners import heard_notes
from bench.scoring.scoring import Heard
from stackline.listen.ear import silent
from stackline.listen.general.general_ear import FRAME, RATE_HZ, GeneralEar
from stackline.listen.recording.decode import decode
from stackline.shared.sound import Tuning
from stackline.shared.units import LOWEST_MIDI

ONSET, SOUNDING = 0.5, 0.3
LEAST_FRAMES = 11
AT_440 = Tuning(offset_cents=0.0, confidence=0.0)


class NetworkNotes:
    """The network's own notes."""

    name = "basic-pitch 0.4.0's network, decoded as published"

    def listen(self, paths: Sequence[Path]) -> list[Heard]:
        """See `bench.scoring.listeners.Listener`."""
        return [heard_notes(self._notes(path)) for path in paths]

    def _notes(self, path: Path) -> list[list[float]]:
        chunks = list(GeneralEar().activations(decode(path, RATE_HZ), AT_440, silent))
        onset = np.concatenate([one.onset for one in chunks])
        frame = np.concatenate([one.frame for one in chunks])
        return decoded(onset, frame, FRAME / RATE_HZ)


def decoded(onset: np.ndarray, frame: np.ndarray, frame_s: float) -> list[list[float]]:
    """Activations, each (frames, 88), as rows of (onset_s, offset_s, midi, amplitude 0..1)."""
    before, after = np.roll(onset, 1, axis=0), np.roll(onset, -1, axis=0)
    before[0] = after[-1] = 0.0
    peaks = np.argwhere((onset >= ONSET) & (onset > before) & (onset >= after))
    left = frame.copy()
    rows = []
    for start, key in peaks[::-1]:
        end = _end(left[start:, key]) + start
        if end - start >= LEAST_FRAMES:
            loud = float(frame[start:end, key].mean())
            rows.append([start * frame_s, end * frame_s, float(key + LOWEST_MIDI), loud])
            left[start:end, key] = 0.0
    return sorted(rows)


def _end(sounding: np.ndarray) -> int:
    """The first of `LEAST_FRAMES` frames in a row that are too weak, or the end."""
    gap = 0
    for i, one in enumerate(sounding):
        gap = 0 if one >= SOUNDING else gap + 1
        if gap == LEAST_FRAMES:
            return i - gap + 1
    return len(sounding) - gap
