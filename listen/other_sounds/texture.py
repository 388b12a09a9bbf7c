"""How a recording sounds from moment to moment: is it strings, a voice, clapping, paper?

A struck string comes up at once, keeps its pitches and dies away. A voice glides, comes and
goes some four times a second, and changes between tone and hiss. Clapping and paper have no
pitches. `frames` measures each 32 ms, `windows` sums up 1.5 s around every quarter of a
second. Levels stand against the loud moments of the recording (98th percentile), so that its
gain says nothing. Read block by block; what is kept is some 300 numbers a second.

Units: seconds, Hz, decibels of power against the loud moments (divided by 20 in inputs).
"""

from collections.abc import Sequence

import numpy as np
import scipy.fft
from scipy.ndimage import uniform_filter1d

from stackline.listen.recording.slices import block_powers, stretch
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Samples

HOP_S, SIZE_S = 0.032, 0.064
STEP, WINDOW = 8, 47  # frames from window to window, and in one window
STEP_S = STEP * HOP_S
N_FRAME = 9  # numbers that describe a frame
# Numbers that describe a window: statistics of frames, of levels, of attacks.
N_INPUTS = 4 * (N_FRAME + 1) + 3 * 4 + 3

_BANDS_HZ = ((80.0, 400.0), (400.0, 1200.0), (1200.0, 3500.0), (3500.0, 7500.0))
_FINE_HZ = (100.0, 4000.0)
_SMOOTH_HZ = 140.0  # what is finer than this is tone, what is wider is colour
_LAG = 3  # frames over which a string keeps its pitches
_FLOOR_DB = -60.0
_MOST_RISE_DB = 12.0
_BLOCK = 2000  # frames
_LOUD_BLOCK = 1024  # samples
_STRIKE_S = 0.08  # a rise so near to a note's onset is the note's
_SWAYS = ((1.3, 3.0), (3.0, 6.0), (6.0, 12.0))  # Hz; syllables come at 3 to 6 a second (unverified)


def frames(audio: Audio) -> np.ndarray:
    """Float32 (n_frames, N_FRAME); frame i is centred on i * HOP_S.

    Columns: level; levels of the four bands against it; how alike the tones are to those of
    0.1 s before (-1..1); how far tones stand out; how much rises; how much falls.
    """
    rate = audio.sample_rate_hz
    hop, size = round(HOP_S * rate), round(SIZE_S * rate)
    total = len(audio.samples) // hop + 1
    loud = _loud_power(audio.samples) * np.sum(np.hanning(size) ** 2)
    found = np.zeros((total, N_FRAME), np.float32)
    for first in range(0, total, _BLOCK):
        start, stop = max(first - _LAG, 0), min(first + _BLOCK, total)
        part = stretch(audio.samples, start * hop - size // 2, (stop - start - 1) * hop + size)
        cut = np.lib.stride_tricks.sliding_window_view(part, size)[::hop]
        lines = scipy.fft.rfft(cut * np.hanning(size).astype(np.float32), axis=1)
        power = (lines.real**2 + lines.imag**2) * np.float32(2 / (size * loud))
        found[first:stop] = _columns(power, rate / size)[first - start :]
    return found


def _loud_power(samples: Samples) -> float:
    """Mean square of the loud moments."""
    every = block_powers(samples, _LOUD_BLOCK)
    return max(float(np.percentile(every, 98)) if len(every) else 0.0, 1e-10)


def _columns(power: np.ndarray, line_hz: float) -> np.ndarray:
    """The measures of some frames from their spectra, (n, n_lines)."""
    floor = 10 ** (_FLOOR_DB / 10)
    level = _db(power.sum(axis=1), floor)
    bands = [_db(_between(power, band, line_hz).sum(axis=1), floor) for band in _BANDS_HZ]
    lines = 10.0 * np.log10(_between(power, _FINE_HZ, line_hz) + floor / 100)
    fine = lines - uniform_filter1d(lines, max(3, round(_SMOOTH_HZ / line_hz)), axis=1)
    rises = np.clip(np.diff(lines, axis=0, prepend=lines[:1]), -_MOST_RISE_DB, _MOST_RISE_DB)
    columns = [
        level / 20, *((band - level) / 20 for band in bands), _alike(fine), fine.std(axis=1) / 10,
        np.clip(rises, 0, None).mean(axis=1) / 4, np.clip(-rises, 0, None).mean(axis=1) / 4,
    ]  # fmt: skip
    return np.stack(columns, axis=1).astype(np.float32)


def _db(power: np.ndarray, floor: float) -> np.ndarray:
    decibels: np.ndarray = 10.0 * np.log10(power + floor)
    return decibels


def _between(power: np.ndarray, band_hz: tuple[float, float], line_hz: float) -> np.ndarray:
    return power[:, round(band_hz[0] / line_hz) : max(round(band_hz[1] / line_hz), 1)]


def _alike(fine: np.ndarray) -> np.ndarray:
    """Correlation of each frame's tones with those `_LAG` frames before; 0 for the first."""
    size = np.sqrt(np.sum(fine**2, axis=1)) + 1e-6
    found = np.zeros(len(fine))
    found[_LAG:] = np.sum(fine[_LAG:] * fine[:-_LAG], axis=1) / (size[_LAG:] * size[:-_LAG])
    return found


def windows(measured: np.ndarray, notes: Sequence[Note]) -> np.ndarray:
    """Float32 (n_windows, N_INPUTS); window i is centred on i * STEP_S.

    measured: what `frames` gave. notes: what the ear heard; what rises away from any onset,
    and how long no note sounds, says that something else does.
    """
    struck, sounding = _of_notes(notes, len(measured))
    apart = measured[:, 7] * (1 - struck)
    wide = np.column_stack([measured, apart, struck, sounding])
    padded = np.pad(wide, ((WINDOW // 2, WINDOW // 2 + STEP), (0, 0)), mode="edge")
    views = np.lib.stride_tricks.sliding_window_view(padded, WINDOW, axis=0)[: len(wide) : STEP]
    parts = [_summed(views[start : start + 512]) for start in range(0, len(views), 512)]
    return np.concatenate(parts) if parts else np.zeros((0, N_INPUTS), np.float32)


def _of_notes(notes: Sequence[Note], n_frames: int) -> tuple[np.ndarray, np.ndarray]:
    """For each frame, 0 or 1: whether a note begins near it, and whether one sounds."""
    struck, sounding = np.zeros(n_frames, np.float32), np.zeros(n_frames, np.float32)
    for note in notes:
        first, last = (round((note.onset_s + off) / HOP_S) for off in (-_STRIKE_S, _STRIKE_S))
        struck[max(first, 0) : last + 1] = 1
        sounding[round(note.onset_s / HOP_S) : round(note.offset_s / HOP_S) + 1] = 1
    return struck, sounding


def _summed(views: np.ndarray) -> np.ndarray:
    """Sum up windows (n, N_FRAME + 3, WINDOW)."""
    values = views[:, : N_FRAME + 1]
    low, high = np.percentile(values, (10, 90), axis=2)
    levels = values[:, 1:5] + values[:, :1]
    hiss, tone = levels[:, 3], levels[:, :3].max(axis=1)
    columns = [
        values.mean(axis=2), values.std(axis=2), low, high, _sway(levels),
        _correlation(hiss, tone)[:, None], views[:, N_FRAME + 1 :].mean(axis=2),
    ]  # fmt: skip
    return np.concatenate(columns, axis=1).astype(np.float32)


def _sway(levels: np.ndarray) -> np.ndarray:
    """How much each band sways at the rates of `_SWAYS`, (n, 12)."""
    centred = (levels - levels.mean(axis=2, keepdims=True)) * np.hanning(WINDOW)
    power = np.abs(np.fft.rfft(centred, axis=2)) ** 2
    rates = np.fft.rfftfreq(WINDOW, HOP_S)
    sways = [
        np.sqrt(power[:, :, (rates >= low) & (rates < high)].sum(axis=2)) for low, high in _SWAYS
    ]
    return np.concatenate(sways, axis=1)


def _correlation(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    a = one - one.mean(axis=1, keepdims=True)
    b = other - other.mean(axis=1, keepdims=True)
    spread = np.sqrt((a**2).sum(axis=1) * (b**2).sum(axis=1)) + 1e-3
    return (a * b).sum(axis=1) / spread
