"""The general ear: basic-pitch's network for any pitched instrument, run by us.

The network's published file lies in ``weights/`` with its licence; none of the package's Python
code is used. The network takes 43 844 samples at 22 050 Hz and gives 172 frames of 256
samples, for each of 88 keys how much it sounds (``note``) and is struck (``onset``).

Windows overlap and only their middle is kept, where the network sees enough on both
sides. The hop is a whole number of frames, so frame i of the recording stands at exactly
i * 256 / 22050 s (of the retuned recording, see `tuning`) and nothing drifts.
Each window is a call of its own, several at once in threads: batching changes the network's
results.
"""

import dataclasses
import itertools
import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from stackline.listen.ear import Progress
from stackline.listen.general.attack_classifier import LOOKED_AT_AGAIN, judge_of, review
from stackline.listen.general.tracking import Tracking, track
from stackline.listen.offline_network import open_network
from stackline.listen.recording.tuning import PITCHED, Retuning
from stackline.shared.notes import Note
from stackline.shared.sound import Activations, Audio, Tuning

if TYPE_CHECKING:
    from onnxruntime import InferenceSession

WEIGHTS = Path(__file__).parent / "weights" / "general_ear.onnx"

RATE_HZ = 22_050
FRAME = 256  # samples
_WINDOW = 43_844  # samples
_WINDOW_FRAMES = 172
_EDGE = 15  # frames dropped on either side of a window, at least
_KEPT = _WINDOW_FRAMES - 2 * _EDGE - 1  # frames; one less, as the last frame is cut short
_HOP = _KEPT * FRAME  # samples
_INPUT = "serving_default_input_2:0"
_OUTPUTS = ["StatefulPartitionedCall:1", "StatefulPartitionedCall:2"]  # note, onset
_CHUNK_WINDOWS = 16  # windows of the network heard at a time
_KEEP_UNPITCHED = 0.9  # in talk and noise only a sure note is a note
_WORKERS = max(1, min(4, os.cpu_count() or 1))

TRACKING = Tracking(  # the judge is made for each take
    floor=0.2, floor_in_attack=0.12, review=review, review_from=LOOKED_AT_AGAIN,
    delay_s=0.0025, sounding=0.35, bridge_s=0.1,
)  # fmt: skip


class GeneralEar:
    """Hears any pitched instrument, pianos included."""

    name = "general (basic-pitch 0.4.0)"
    sample_rate_hz = RATE_HZ
    hears_velocity = False

    def hear(self, audio: Audio, tuning: Tuning, progress: Progress) -> tuple[Note, ...]:
        """See `stackline.listen.ear.Ear`."""
        keep = TRACKING.keep if tuning.confidence >= PITCHED else _KEEP_UNPITCHED
        settings = dataclasses.replace(TRACKING, keep=keep, judge=judge_of(audio, tuning))
        return track(self.activations(audio, tuning, progress), settings)

    def activations(
        self, audio: Audio, tuning: Tuning, progress: Progress
    ) -> Iterator[Activations]:
        """What the network believes, in consecutive chunks from frame 0 to the end."""
        retuning = Retuning.of(tuning, RATE_HZ)
        n_frames = -(-retuning.length(audio.samples) // FRAME)
        windows = _windows(retuning.blocks(audio.samples), n_frames)
        first = 0
        with ThreadPoolExecutor(_WORKERS) as workers:
            while batch := list(itertools.islice(windows, _CHUNK_WINDOWS)):
                notes, onsets = zip(*workers.map(self._run, batch), strict=True)
                stop = min(len(batch) * _KEPT, n_frames - first)
                yield Activations(
                    onset=np.concatenate(onsets)[:stop],
                    frame=np.concatenate(notes)[:stop],
                    frame_rate_hz=Fraction(retuning.read_hz, FRAME),
                    first_frame=first,
                )
                first += stop
                progress("hearing the notes", first / n_frames)

    def _run(self, window: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Kept frames of one window: note and onset activations, each (kept, 88)."""
        note, onset = self._session.run(_OUTPUTS, {_INPUT: window[None, :, None]})
        kept = slice(_EDGE, _EDGE + _KEPT)
        return note[0, kept], onset[0, kept]

    @cached_property
    def _session(self) -> "InferenceSession":
        # one thread: those inside a window mostly wait for each other
        return open_network(WEIGHTS, threads=1)


def _windows(blocks: Iterator[np.ndarray], n_frames: int) -> Iterator[np.ndarray]:
    """Windows of the network, the first with its kept part at sample 0, zeros outside."""
    ahead = np.zeros(_EDGE * FRAME, np.float32)
    silence = np.zeros(_WINDOW, np.float32)
    for _ in range(0, n_frames, _KEPT):
        while len(ahead) < _WINDOW:
            ahead = np.concatenate((ahead, next(blocks, silence)))
        yield ahead[:_WINDOW]
        ahead = ahead[_HOP:]
