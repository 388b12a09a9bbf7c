"""Records of the sound itself: samples, their tuning, what an ear makes of them.

Arrays inside records are read-only; records that hold arrays compare by identity.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

import numpy as np

from stackline.shared.notes import CutFrom, Passage
from stackline.shared.units import N_KEYS


class Samples(Protocol):
    """What `Audio.samples` promises: a length, and slices as float32 arrays.

    A numpy array does, and so does a store on disk for recordings too long to hold.
    """

    def __len__(self) -> int: ...

    def __getitem__(self, part: slice, /) -> np.ndarray: ...


@dataclass(frozen=True, kw_only=True, eq=False)
class Audio:
    """One decoded recording, mixed to one channel.

    samples: float32, shape (n_samples,), full scale 1.0 (may exceed it), finite.
    sample_rate_hz: of `samples`, not of the file.
    sha256: of the file's bytes, hex; two takes of equal sha256 are one take.
    broken_off_s: where a cut or damaged file breaks off, None where it does not.
    unread: damaged stretches, silent in the samples; in order, apart from each other.
    cut_from: of which longer recording it is a section, None where it is a recording of its own.
    """

    name: str
    samples: Samples
    sample_rate_hz: int
    sha256: str
    broken_off_s: float | None = None
    unread: tuple[Passage, ...] = ()
    cut_from: CutFrom | None = None

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return len(self.samples) / self.sample_rate_hz


@dataclass(frozen=True, kw_only=True)
class Tuning:
    """How far the instrument stands from A = 440 Hz.

    offset_cents: positive when sharp. confidence: 0 (no pitch heard) to 1.
    """

    offset_cents: float
    confidence: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Activations:
    """What an ear believes, frame by frame and key by key, before any decision.

    onset, frame: float32 in 0..1, shape (n_frames, 88); column 0 is MIDI 21. `onset`
    says that a key is struck here, `frame` that it sounds.
    frame_rate_hz: exact; frame i of the recording stands at i / frame_rate_hz seconds,
    so that nothing drifts however long the take.
    first_frame: index in the recording of row 0 (an ear works in chunks).
    nudge_s: None, or shape (n_frames, 88): seconds to add to the time of a frame for
    an onset there, for ears that hear finer than their frames.
    """

    onset: np.ndarray
    frame: np.ndarray
    frame_rate_hz: Fraction
    first_frame: int = 0
    nudge_s: np.ndarray | None = None

    def __post_init__(self) -> None:
        arrays = [self.onset, self.frame]
        if self.nudge_s is not None:
            arrays.append(self.nudge_s)
        for array in arrays:
            if array.shape != (len(self.onset), N_KEYS):
                raise ValueError(f"activations must be (n_frames, {N_KEYS}), got {array.shape}")
            array.setflags(write=False)
