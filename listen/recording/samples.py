"""Samples that somebody already holds, as a recording.

The same treatment as a file's (`decode`): channels averaged unless they cancel or one says all,
resampled by soxr, every sample a finite number at most 120 dB above full scale.
"""

import hashlib

import numpy as np
import soxr

from stackline.listen.recording.decode import (
    HIGHEST_RATE_HZ,
    LOUDEST,
    LOWEST_RATE_HZ,
    heard_alone,
)
from stackline.shared.complaint import Complaint
from stackline.shared.sound import Audio


def from_samples(
    samples: np.ndarray, sample_rate_hz: int, *, to_hz: int, name: str = "samples"
) -> Audio:
    """One channel at `to_hz` from samples in memory.

    samples: shape (n_samples,) or (n_samples, n_channels); floating point with full scale 1.0, or
    signed integers with the full scale of their type. sample_rate_hz: of `samples`.
    The sha256 of the result is of the samples' bytes as they came. Raises Complaint for an array
    of another shape or type, without samples, or with values that are not sound.
    """
    found = np.asarray(samples)
    _check(found, sample_rate_hz)
    channels = _as_float(found).reshape(len(found), -1)
    mono = channels.mean(axis=1, dtype=np.float32)
    power = np.einsum("ij,ij->j", channels, channels)
    alone = heard_alone(float(np.dot(mono, mono)), power)
    if alone is not None:
        mono = np.ascontiguousarray(channels[:, alone])
    if not np.isfinite(mono).all() or np.abs(mono).max() > LOUDEST:
        raise Complaint(
            "the samples hold values that are not finite or beyond any sound; full scale is 1.0"
        )
    if sample_rate_hz != to_hz:
        mono = soxr.resample(mono, sample_rate_hz, to_hz, quality="HQ").astype(np.float32)
    mono.setflags(write=False)
    digest = hashlib.sha256(np.ascontiguousarray(found).tobytes()).hexdigest()
    return Audio(name=name, samples=mono, sample_rate_hz=to_hz, sha256=digest)


def _check(samples: np.ndarray, rate_hz: int) -> None:
    """Complaint for what cannot be a recording."""
    if samples.ndim not in (1, 2) or samples.size == 0:
        raise Complaint(
            f"samples of shape {samples.shape} are not a recording; give (n_samples,) or "
            "(n_samples, n_channels), with at least one sample"
        )
    if samples.dtype.kind not in "fi":
        raise Complaint(
            f"samples of type {samples.dtype} are not read; give floating point with full scale "
            "1.0, or signed integers"
        )
    if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
        raise Complaint(
            f"a sample rate of {rate_hz} Hz is out of range; give {LOWEST_RATE_HZ} to "
            f"{HIGHEST_RATE_HZ}, such as 44100"
        )


def _as_float(samples: np.ndarray) -> np.ndarray:
    """Float32 with full scale 1.0."""
    if samples.dtype.kind == "i":
        return samples.astype(np.float32) / np.float32(-float(np.iinfo(samples.dtype).min))
    return samples.astype(np.float32)
