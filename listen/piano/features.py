"""What the piano ear's network sees: four log spectra, key by key in fifths of a semitone.

Contract. Sound: float32, one channel, `SAMPLE_RATE_HZ` samples a second. Frame i stands at
sample i * HOP, so at i / FRAME_RATE_HZ seconds, exactly. Each frame has one row for each
window in `WINDOWS`; the longer two look `lag` samples ahead, at the ring after a strike. Row:
`N_BINS` bins, `BINS_PER_KEY` a key from A0, the middle one of each five on the key's pitch.
A bin holds ``log10(power) * GAIN + OFFSET``, power 1.0 being a full-scale sine, never less
than -2 (which is -80 dB; 0 is -40 dB, 2 is full scale).

Filters are triangles over frequency. A triangle reaches to the neighbouring bins, or one
line of the transform where that is wider; in the latter case it is linear interpolation of
the power at the bin's centre. Hann windows (F. J. Harris, Proc. IEEE 66, 1978).

Training computes the same numbers with another library; a test holds the two together.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np
from scipy import fft, sparse

from stackline.listen.recording.slices import stretch
from stackline.shared.sound import Samples
from stackline.shared.units import LOWEST_MIDI, N_KEYS, midi_to_hz

SAMPLE_RATE_HZ = 16_000
HOP = 512
FRAME_RATE_HZ = Fraction(SAMPLE_RATE_HZ, HOP)  # 125/4, exact: nothing drifts
BINS_PER_KEY = 5
N_BINS = N_KEYS * BINS_PER_KEY
FLOOR_POWER = 1e-8  # -80 dB
GAIN, OFFSET = 0.5, 2.0


@dataclass(frozen=True, kw_only=True)
class Window:
    """One transform: its length and how far after the frame its centre lies, in samples."""

    size: int
    lag: int


WINDOWS = (
    Window(size=1024, lag=0),
    Window(size=4096, lag=0),
    Window(size=8192, lag=3 * HOP),
    Window(size=16384, lag=6 * HOP),
)
N_WINDOWS = len(WINDOWS)
BEFORE = max(window.size // 2 - window.lag for window in WINDOWS)  # samples before a frame
AFTER = max(window.size // 2 + window.lag for window in WINDOWS)  # and after it


def n_frames(n_samples: int) -> int:
    """Frames of a recording of `n_samples`: one at its start and one each hop."""
    return n_samples // HOP + 1


def features(
    samples: Samples,
    *,
    first_frame: int,
    n_frames: int,
    gain: float = 1.0,
    offset_cents: float = 0.0,
) -> np.ndarray:
    """Features of frames [first_frame, first_frame + n_frames): float32 (4, n_frames, 440).

    Beyond its ends the recording is silent. gain multiplies the samples. offset_cents: how
    far the instrument is tuned from A = 440 Hz; the bins move along with it.
    """
    start = first_frame * HOP - BEFORE
    part = stretch(samples, start, BEFORE + AFTER + (n_frames - 1) * HOP)
    part = part.astype(np.float32, copy=False) * np.float32(gain)
    rows = [
        _bins(part[BEFORE - window.size // 2 + window.lag :], n_frames, window.size, offset_cents)
        for window in WINDOWS
    ]
    return np.stack(rows)


def _bins(part: np.ndarray, n_frames: int, size: int, offset_cents: float) -> np.ndarray:
    """Log power in the bins, float32 (n_frames, 440), of frames that start each hop in `part`."""
    stride = part.strides[0]
    shape, strides = (n_frames, size), (HOP * stride, stride)
    frames = np.lib.stride_tricks.as_strided(part, shape, strides, writeable=False)
    spectrum = fft.rfft(frames * hann(size), axis=1)
    power = spectrum.real**2 + spectrum.imag**2
    summed: np.ndarray = (_matrix(size, offset_cents) @ power.T).T
    return (GAIN * np.log10(summed + np.float32(FLOOR_POWER)) + np.float32(OFFSET)).astype(
        np.float32
    )


@lru_cache(maxsize=8)
def hann(size: int) -> np.ndarray:
    """The periodic Hann window, float32 (size,): a full-scale sine has a peak power of 1."""
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(size) / size)
    scaled: np.ndarray = (window * 2 / window.sum()).astype(np.float32)
    scaled.setflags(write=False)
    return scaled


def triangles(size: int, offset_cents: float = 0.0) -> np.ndarray:
    """Weights of the transform's lines in each bin, float32 (440, size // 2 + 1)."""
    steps = (np.arange(N_BINS) - BINS_PER_KEY // 2) / BINS_PER_KEY
    centres = midi_to_hz(LOWEST_MIDI, offset_cents=offset_cents) * 2.0 ** (steps / 12)
    line_hz = SAMPLE_RATE_HZ / size
    reach = np.maximum(centres * (2.0 ** (1 / (12 * BINS_PER_KEY)) - 1), line_hz)
    lines = np.arange(size // 2 + 1) * line_hz
    heights: np.ndarray = 1 - np.abs(lines - centres[:, None]) / reach[:, None]
    weights: np.ndarray = np.maximum(heights, 0).astype(np.float32)
    return weights


@lru_cache(maxsize=32)
def _matrix(size: int, offset_cents: float) -> sparse.csr_matrix:
    return sparse.csr_matrix(triangles(size, offset_cents))
