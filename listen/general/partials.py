"""How strong the partials of keys are in a recording just after a moment, and how much they rose.

Activations cannot tell a key struck an octave above another from that other's strong second
partial. Partials can, in part: a struck octave raises every second partial of the key
below it, a strong partial is one alone. So for a key the levels at its own partials are
read, and at the places between them that belong to the keys an octave, a twelfth and two
octaves below.

Levels are in units of 60 dB, 0 at the loudest place of the spectrum, never below -1. Rises
are in the same unit, against the time before, from -1 to 1. Places beyond 40 to 7000 Hz
read as silence: old and narrow recordings hold nothing there.
"""

from functools import lru_cache

import numpy as np
from scipy import fft
from scipy.ndimage import maximum_filter1d

from stackline.listen.recording.slices import stretch
from stackline.shared.sound import Audio, Samples, Tuning
from stackline.shared.units import LOWEST_MIDI, N_KEYS, midi_to_hz

# Multiples of a key's frequency: its partials, and those of the keys below that it lacks.
RATIOS = (1, 2, 3, 4, 5, 6, 8, 1 / 2, 3 / 2, 5 / 2, 1 / 3, 2 / 3, 4 / 3, 5 / 3, 1 / 4, 3 / 4)
N_LEVELS = 2 * len(RATIOS)
SILENT = -1.0  # the level of what is not there

_WINDOW_S = 0.186
_LATE_S = 0.005  # the window after begins this late, the one before ends this early
_RANGE_DB = 60.0
_LOWEST_HZ, _HIGHEST_HZ = 40.0, 7000.0
_SHARP = 0.012  # partials of strings lie up to this much higher or lower, relative
_WIDTHS = (3, 7, 15, 31)  # bins searched for a partial
_LEAST = 1e-6  # magnitude of a full-scale sine being 1: -120 dB
_GRID_S = 0.02  # moments closer than this share their spectra


def partial_levels(
    audio: Audio, tuning: Tuning, times_s: np.ndarray, keys: np.ndarray
) -> np.ndarray:
    """Levels and rises at `RATIOS` of keys (0..87) at times, float32, shape (n, 32)."""
    moments, which = np.unique(np.rint(times_s / _GRID_S).astype(int), return_inverse=True)
    found = np.zeros((len(keys), N_LEVELS), np.float32)
    rate = audio.sample_rate_hz
    size = int(_WINDOW_S * rate)
    bins, widths = _places(round(tuning.offset_cents), rate, size)
    low, high = (int(limit * _n_fft(size) / rate) for limit in (_LOWEST_HZ, _HIGHEST_HZ))
    order = np.argsort(which, kind="stable")
    bounds = np.searchsorted(which[order], np.arange(len(moments) + 1))
    for index, moment in enumerate(moments):
        mine = order[bounds[index] : bounds[index + 1]]
        at = round(moment * _GRID_S * rate)
        late = round(_LATE_S * rate)
        after = _spectrum_db(audio.samples, at + late, size)
        before = _spectrum_db(audio.samples, at - late - size, size)
        loudest = after[0, low:high].max()
        rows, columns = widths[keys[mine]], bins[keys[mine]]
        silent = columns < 0
        levels, earlier = after[rows, columns] - loudest, before[rows, columns] - loudest
        levels, earlier = (
            np.where(silent, SILENT, np.clip(one / _RANGE_DB, SILENT, 0.0))
            for one in (levels, earlier)
        )
        found[mine] = np.concatenate((levels, levels - earlier), axis=1)
    return found


@lru_cache(maxsize=4)
def _places(offset_cents: int, rate: int, size: int) -> tuple[np.ndarray, np.ndarray]:
    """Bin of each key's ratios, -1 out of range, and which of `_WIDTHS` to search: (88, 16)."""
    keys = [midi_to_hz(LOWEST_MIDI + key, offset_cents=offset_cents) for key in range(N_KEYS)]
    frequencies = np.outer(keys, RATIOS)
    bins = np.rint(frequencies * _n_fft(size) / rate).astype(int)
    reach = frequencies * _SHARP * _n_fft(size) / rate
    widths = np.searchsorted(np.array(_WIDTHS[:-1]) / 2, reach)
    out = (frequencies < _LOWEST_HZ) | (frequencies > min(_HIGHEST_HZ, 0.45 * rate))
    return np.where(out, -1, bins), np.where(out, 0, widths)


def _n_fft(size: int) -> int:
    return int(fft.next_fast_len(size, real=True))


def _spectrum_db(samples: Samples, start: int, size: int) -> np.ndarray:
    """Levels of a windowed stretch, highest within each of `_WIDTHS` bins: (4, n_bins)."""
    part = stretch(samples, start, size) * _window(size)
    magnitude = np.abs(fft.rfft(part, _n_fft(size)))
    level = 20.0 * np.log10(np.maximum(magnitude, _LEAST))
    return np.stack([maximum_filter1d(level, width) for width in _WIDTHS])


@lru_cache(maxsize=4)
def _window(size: int) -> np.ndarray:
    """A Hann window under which a full-scale sine has magnitude 1."""
    window = np.hanning(size)
    return (2.0 * window / window.sum()).astype(np.float32)
