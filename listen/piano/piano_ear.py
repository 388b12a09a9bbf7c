"""The piano ear: our own network for struck keys, pianos and electric pianos.

It hears sound at 16 kHz as features (`features`) at 31.25 frames a second, asks the network
(`weights`, made by `training`) about each key in each frame, and keeps what is likelier struck
than not (`piano_decoding`). Work goes in chunks, each with as much context as any of its
frames can see, so the result does not depend on where chunks are cut and memory hardly
grows with the length of a recording.

The recording's gain is set first, once for the whole: so that its loud moments (the 98th
percentile of level) stand where the network knows them. Detuned instruments are heard by
moving the features' bins along.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from stackline.listen.ear import Progress
from stackline.listen.offline_network import open_network
from stackline.listen.piano.features import SAMPLE_RATE_HZ, features, n_frames
from stackline.listen.piano.piano_decoding import (
    CONTEXT,
    Candidates,
    Rules,
    candidates,
    notes_of,
    sounding,
    struck,
)
from stackline.listen.piano.piano_trust import confidences
from stackline.listen.piano.piano_velocity import velocities
from stackline.listen.recording.slices import block_powers
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Samples, Tuning

if TYPE_CHECKING:
    from onnxruntime import InferenceSession

WEIGHTS = Path(__file__).parent / "weights" / "piano_ear.onnx"
VERSION = "4"
RULES = Rules()

_CHUNK = 256  # frames of its own that the network is asked about at once
_SEEN = 50  # frames on either side that the network's answer for a frame depends on
_MARGIN = _SEEN + CONTEXT
_LOUD = 0.09  # RMS at which loud moments are to stand
_LEVEL_BLOCK = 1024  # samples
_MOST_GAIN = 100.0  # 40 dB: silence stays silence
_TUNING_STEP_CENTS = 2.0
_SURE_TUNING = 0.05  # confidence from which a tuning is followed (ours)


@dataclass(frozen=True, kw_only=True, eq=False)
class Answer:
    """One chunk. logits: (4, n, 88). first_frame: of row 0, in the recording.

    own: the rows that are this chunk's; the others are context.
    """

    logits: np.ndarray
    first_frame: int
    own: slice


@dataclass(frozen=True, kw_only=True, eq=False)
class Evidence:
    """What the network finds in a recording. sounds: (n_frames, 11), packed (`sounding`)."""

    found: Candidates
    sounds: np.ndarray


class PianoEar:
    """Hears pianos and electric pianos. Needs nothing but its weights, which come along."""

    sample_rate_hz = SAMPLE_RATE_HZ
    hears_velocity = True

    @property
    def name(self) -> str:
        return f"piano {VERSION}"

    def hear(self, audio: Audio, tuning: Tuning, progress: Progress) -> tuple[Note, ...]:
        """See `listen.ear.Ear`."""
        every = self.evidence(audio, tuning, progress)
        kept = struck(every.found, RULES)
        chance = confidences(every.found, kept)[kept]
        chosen = every.found.where(kept)
        return notes_of(chosen, chance, velocities(chosen.velocity), every.sounds, RULES)

    def evidence(self, audio: Audio, tuning: Tuning, progress: Progress) -> Evidence:
        """All candidates of a recording and what sounds in it, before any decision."""
        parts, sounds = [], []
        for answer in self.answers(audio, tuning, progress):
            parts.append(candidates(answer.logits, answer.first_frame, answer.own))
            sounds.append(sounding(answer.logits, answer.own, RULES))
        self.__dict__.pop("_session", None)  # and its working memory; it opens again at once
        return Evidence(found=Candidates.joined(parts), sounds=np.concatenate(sounds))

    def answers(
        self, audio: Audio, tuning: Tuning, progress: Progress, chunk: int = _CHUNK
    ) -> Iterator[Answer]:
        """What the network answers, chunk by chunk."""
        gain, cents = loudness_gain(audio.samples), _bins_offset(tuning)
        total = n_frames(len(audio.samples))
        for start in range(0, total, chunk):
            stop = min(start + chunk, total)
            first, last = max(start - _MARGIN, 0), min(stop + _MARGIN, total)
            seen = features(
                audio.samples, first_frame=first, n_frames=last - first,
                gain=gain, offset_cents=cents,
            )  # fmt: skip
            (logits,) = self._session.run(None, {"features": seen[None]})
            own = slice(start - first, stop - first)
            yield Answer(logits=logits[0], first_frame=first, own=own)
            progress("hearing the notes", stop / total)

    @cached_property
    def _session(self) -> "InferenceSession":
        return open_network(WEIGHTS)


def loudness_gain(samples: Samples) -> float:
    """What to multiply a recording by, so that its loud moments stand at `_LOUD`."""
    every = np.sqrt(block_powers(samples, _LEVEL_BLOCK))
    loud = float(np.percentile(every, 98)) if len(every) else 0.0
    return min(_LOUD / max(loud, 1e-9), _MOST_GAIN)


def _bins_offset(tuning: Tuning) -> float:
    """Cents by which the features' bins are moved: in steps, so that few tables are made."""
    if tuning.confidence < _SURE_TUNING:
        return 0.0
    return _TUNING_STEP_CENTS * round(tuning.offset_cents / _TUNING_STEP_CENTS)
