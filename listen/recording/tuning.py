"""How far an instrument stands from A = 440 Hz, and reading it as if it did not.

Estimate: the strongest spectral peaks (STFT, parabolic interpolation) of the loudest
stretches, each as a place on the circle of one semitone; the offset is where they are
densest. Only low partials count, since high ones are sharp on every string.

Pitch alone cannot tell an instrument 58 cents sharp from one 42 cents flat, played a
semitone higher. Rule: the offset nearest to the A that is expected (440 Hz unless the
player says otherwise), so -50 up to +50 cents around it: A = 427.5 to 452.9 Hz without a
hint, and with a hint such as A = 455 any tuning there is.

Correction: the recording is resampled so that it sounds at A = 440 Hz; the result keeps
its exact rate in samples per second of the recording, so no time changes.
"""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy.fft
import soxr

from stackline.shared.complaint import Complaint
from stackline.shared.sound import Audio, Samples, Tuning
from stackline.shared.units import CONCERT_A_HZ, hz_to_midi

LOWEST_A_HZ, HIGHEST_A_HZ = 400.0, 480.0  # what a player may say his A is

# Confidence below which no pitched instrument is heard: speech, hiss and applause reach 0.09,
# made takes of every kind 0.28 or more.
PITCHED = 0.15

_WINDOW_S = 0.37
_STRETCHES = 240  # windows analysed: enough for a stable mode, few enough for no time
_LOW_HZ, _HIGH_HZ = 130.0, 1100.0
_PEAKS = 8  # strongest peaks of a window
_FLOOR_DB = 34.0  # below the window's strongest peak
_WIDTH_CENTS = 6.0  # of the kernel in which peaks agree
_SILENT = 1e-4  # rms of a window that holds nothing to tune to (-80 dB)
_CORRECT_FROM_CENTS = 3.0  # smaller offsets are left alone: no ear hears them
_BLOCK_S = 10


def estimate_tuning(audio: Audio, *, expected_a_hz: float = CONCERT_A_HZ) -> Tuning:
    """The tuning of a recording; offset 0 and confidence 0 when no pitch is heard.

    expected_a_hz: the offset is the one nearest to it. Raises Complaint when it is not
    between 400 and 480 Hz. confidence: share of the peaks' weight that agrees within
    some 12 cents, from 0 (as many as by chance) to 1.
    """
    check_expected_a(expected_a_hz)
    cents, weights = _peaks_of(audio)
    if not len(cents):
        return Tuning(offset_cents=0.0, confidence=0.0)
    offset, share = _densest(cents, weights)
    expected = 100.0 * (hz_to_midi(expected_a_hz) - 69.0)
    nearest = expected + (offset - expected + 50.0) % 100.0 - 50.0
    return Tuning(offset_cents=round(nearest, 1), confidence=round(share, 3))


def check_expected_a(expected_a_hz: float) -> None:
    """Raise Complaint for an A that no instrument has."""
    if not LOWEST_A_HZ <= expected_a_hz <= HIGHEST_A_HZ:
        raise Complaint(
            f"A = {expected_a_hz:g} Hz is no tuning; give A between {LOWEST_A_HZ:g} and "
            f"{HIGHEST_A_HZ:g} Hz, such as 442"
        )


def _peaks_of(audio: Audio) -> tuple[np.ndarray, np.ndarray]:
    """Cents (mod 100) and weights of the strongest peaks in evenly chosen loud windows."""
    rate = audio.sample_rate_hz
    size = int(_WINDOW_S * rate)
    cents, weights = [np.zeros(0)], [np.zeros(0)]
    for window in _loud_windows(audio.samples, size):
        found = _window_peaks(window, rate)
        cents.append(found[0])
        weights.append(found[1])
    return np.concatenate(cents), np.concatenate(weights)


def _loud_windows(samples: Samples, size: int) -> Iterator[np.ndarray]:
    """The loudest window of each of at most `_STRETCHES` equal parts of the recording."""
    parts = max(1, min(_STRETCHES, len(samples) // (2 * size)))
    bounds = np.linspace(0, len(samples), parts + 1).astype(int)
    for start, stop in itertools.pairwise(bounds):
        part = samples[int(start) : int(min(stop, start + 8 * size))].astype(np.float64)
        if len(part) < size:
            part = np.pad(part, (0, size - len(part)))
        power = np.concatenate(([0.0], np.cumsum(part**2)))
        starts = np.arange(0, len(part) - size + 1, max(1, size // 4))
        energy = power[starts + size] - power[starts]
        best = int(energy.argmax())
        if energy[best] > size * _SILENT**2:
            yield part[starts[best] : starts[best] + size]


def _window_peaks(window: np.ndarray, rate: int) -> tuple[np.ndarray, np.ndarray]:
    """Cents (mod 100) and square-root weights of the strongest peaks of one window."""
    n_fft = scipy.fft.next_fast_len(2 * len(window), real=True)
    spectrum = np.abs(scipy.fft.rfft(window * np.hanning(len(window)), n_fft))
    level = 20.0 * np.log10(spectrum + 1e-12)
    low, high = int(_LOW_HZ * n_fft / rate), int(_HIGH_HZ * n_fft / rate)
    middle = level[low:high]
    is_peak = (middle > level[low - 1 : high - 1]) & (middle >= level[low + 1 : high + 1])
    bins = low + np.flatnonzero(is_peak & (middle > middle.max() - _FLOOR_DB))
    bins = bins[np.argsort(level[bins])[-_PEAKS:]]
    before, here, after = level[bins - 1], level[bins], level[bins + 1]
    bins_exact = bins + 0.5 * (before - after) / (before - 2 * here + after)
    midi = 69.0 + 12.0 * np.log2(bins_exact * rate / n_fft / CONCERT_A_HZ)
    return 100.0 * (midi % 1.0), np.sqrt(spectrum[bins])


def _densest(cents: np.ndarray, weights: np.ndarray) -> tuple[float, float]:
    """The place on the circle of 100 cents where weight is densest, and how much agrees."""
    grid = np.arange(0.0, 100.0, 0.5)
    histogram = np.bincount((cents / 0.5).astype(int) % 200, weights, minlength=200)
    away = np.minimum(grid, 100.0 - grid)
    kernel = np.exp(-0.5 * (away / _WIDTH_CENTS) ** 2)
    density = np.fft.irfft(np.fft.rfft(histogram) * np.fft.rfft(kernel), 200)
    centre = grid[int(density.argmax())]
    off = (cents - centre + 50.0) % 100.0 - 50.0
    near = np.abs(off) <= 2 * _WIDTH_CENTS
    mean = centre + np.average(off[near], weights=weights[near])
    share = weights[near].sum() / weights.sum()
    by_chance = 4 * _WIDTH_CENTS / 100.0
    return float(mean), float(max(0.0, (share - by_chance) / (1.0 - by_chance)))


@dataclass(frozen=True, kw_only=True)
class Retuning:
    """The rate at which a recording must be read to sound at A = 440 Hz.

    read_hz: whole samples per second of the recording. Played at `rate_hz` they sound
    ``1200 * log2(read_hz / rate_hz)`` cents lower than recorded.
    """

    rate_hz: int
    read_hz: int

    @classmethod
    def of(cls, tuning: Tuning, rate_hz: int) -> "Retuning":
        """Offsets under 3 cents, or of an unsure estimate, are left alone."""
        small = abs(tuning.offset_cents) < _CORRECT_FROM_CENTS
        offset = 0.0 if small or tuning.confidence < PITCHED else tuning.offset_cents
        return cls(rate_hz=rate_hz, read_hz=round(rate_hz * 2.0 ** (offset / 1200.0)))

    def length(self, samples: Samples) -> int:
        """How many samples `blocks` gives in all, to within one."""
        return math.ceil(len(samples) * self.read_hz / self.rate_hz)

    def blocks(self, samples: Samples) -> Iterator[np.ndarray]:
        """The recording in blocks (n,), resampled to `read_hz` (as it is when equal)."""
        stream = soxr.ResampleStream(self.rate_hz, self.read_hz, 1, dtype="float32", quality="HQ")
        size = _BLOCK_S * self.rate_hz
        for start in range(0, len(samples), size):
            block = samples[start : start + size]
            if self.read_hz == self.rate_hz:
                yield block
            else:
                yield stream.resample_chunk(block, last=start + size >= len(samples))
