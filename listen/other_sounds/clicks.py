"""Short broadband sounds: metronomes, sticks, snapped fingers, hi-hat and ride. Never notes.

A click comes up in the treble within some milliseconds while the strings below stay as they
are, and is gone in a twentieth of a second; a struck string comes up everywhere and rings.
Levels of `_BANDS_HZ` (Hann windows of 16 ms, every 5 ms) are read block by block. A click is
where the treble rises sharply, and either no string is struck there or the treble falls
away at once. What a click is good for is decided elsewhere: speech clicks too.

Units: seconds; decibels of power; strength 0..1.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.fft

from stackline.listen.recording.slices import stretch
from stackline.shared.notes import Attack
from stackline.shared.sound import Audio, Samples

_BANDS_HZ = ((2800.0, 4300.0), (4300.0, 5800.0), (5800.0, 7800.0))
_HOP_S, _WINDOW_S = 0.005, 0.016
_BLOCK = 4000  # frames read at once: 20 s
_FLOOR = 1e-7  # of the loudest frames' power: what lies lower is not there (-70 dB)
_BEFORE = slice(2, 6)  # frames before a frame that it must rise above
_AFTER = slice(10, 16)  # frames after it by which a click has gone
_FEWEST_DB, _FULL_DB = 6.0, 14.0  # mean rise of a click that hardly counts, and of a clear one
_BANDS_RISING, _RISING_DB = 2, 5.0  # bands that rise, and by how much (ours)
_GONE_DB = 7.0
_REACH_S = 0.05  # around an attack: the hammer's own noise
_APART_S = 0.08


@dataclass(frozen=True, kw_only=True, eq=False)
class Clicks:
    """Clicks in time order, arrays of shape (n,).

    strength: 0 to 1, how clear. gone_db: how far the treble fell within 70 ms. alone: no
    string is struck there (True of all until `apart_from` has looked).
    """

    time_s: np.ndarray
    strength: np.ndarray
    gone_db: np.ndarray
    alone: np.ndarray

    def where(self, keep: np.ndarray) -> "Clicks":
        """Those of a mask. keep: (n,) bool."""
        return Clicks(
            time_s=self.time_s[keep],
            strength=self.strength[keep],
            gone_db=self.gone_db[keep],
            alone=self.alone[keep],
        )


NO_CLICKS = Clicks(
    time_s=np.zeros(0), strength=np.zeros(0), gone_db=np.zeros(0), alone=np.zeros(0, bool)
)


def find_clicks(audio: Audio) -> Clicks:
    """Every sharp rise of the treble, those of struck strings too (see `apart_from`)."""
    levels_db = treble_levels(audio.samples, audio.sample_rate_hz)
    if len(levels_db) < _AFTER.stop or not levels_db.shape[1]:
        return NO_CLICKS
    rises = _rises(levels_db)
    strength = np.clip((np.clip(rises, 0, 20).mean(axis=1) - _FEWEST_DB) / _FULL_DB, 0, 1)
    needed = min(_BANDS_RISING, levels_db.shape[1])
    strength[(rises >= _RISING_DB).sum(axis=1) < needed] = 0.0
    frames = _peaks(strength, round(_APART_S / _HOP_S))
    mean = levels_db.mean(axis=1)
    top = np.max([mean[np.minimum(frames + i, len(mean) - 1)] for i in range(3)], axis=0)
    after = [mean[np.minimum(frames + i, len(mean) - 1)] for i in range(_AFTER.start, _AFTER.stop)]
    return Clicks(
        time_s=frames * (_hop(audio.sample_rate_hz) / audio.sample_rate_hz),
        strength=strength[frames],
        gone_db=top - np.mean(after, axis=0),
        alone=np.ones(len(frames), bool),
    )


def apart_from(clicks: Clicks, attacks: Sequence[Attack]) -> Clicks:
    """Without the noise of struck strings: what is near an attack and not gone at once."""
    if not len(clicks.time_s) or not attacks:
        return clicks
    onsets = np.array([attack.onset_s for attack in attacks])
    ends = onsets + np.array([attack.spread_s for attack in attacks])
    index = np.searchsorted(onsets, clicks.time_s + _REACH_S) - 1
    is_near = (index >= 0) & (ends[np.maximum(index, 0)] > clicks.time_s - _REACH_S)
    return replace(clicks, alone=~is_near).where(~is_near | (clicks.gone_db >= _GONE_DB))


def treble_levels(samples: Samples, rate_hz: int) -> np.ndarray:
    """Decibels, shape (n_frames, n_bands); bands beyond what the rate holds are left out."""
    hop, size = _hop(rate_hz), round(_WINDOW_S * rate_hz)
    bands = _lines(size, rate_hz)
    n_frames = len(samples) // hop + 1
    window = np.hanning(size).astype(np.float32)
    power = np.empty((n_frames, len(bands)), np.float32)
    for first in range(0, n_frames, _BLOCK):
        count = min(_BLOCK, n_frames - first)
        part = stretch(samples, first * hop - size // 2, (count - 1) * hop + size)
        frames = np.lib.stride_tricks.sliding_window_view(part, size)[::hop] * window
        lines = scipy.fft.rfft(frames, axis=1)
        for column, (low, high) in enumerate(bands):
            some = lines[:, low:high]
            power[first : first + count, column] = np.mean(some.real**2 + some.imag**2, axis=1)
    power += (_FLOOR * np.percentile(power, 99.5, axis=0) + 1e-12).astype(np.float32)
    np.log10(power, out=power)
    return np.multiply(power, 10.0, out=power)


def _hop(rate_hz: int) -> int:
    """Samples from frame to frame: whole, so that no time drifts."""
    return round(_HOP_S * rate_hz)


def _lines(size: int, rate_hz: int) -> list[tuple[int, int]]:
    """First and last line of each band that lies below the Nyquist frequency."""
    return [
        (round(low * size / rate_hz), round(high * size / rate_hz))
        for low, high in _BANDS_HZ
        if high <= rate_hz / 2
    ]


def _rises(levels_db: np.ndarray) -> np.ndarray:
    """How far each frame stands above the frames shortly before it; the first ones nowhere."""
    before = np.full_like(levels_db, -np.inf)
    for back in range(_BEFORE.start, _BEFORE.stop):
        np.maximum(before[back:], levels_db[:-back], out=before[back:])
    rises = levels_db - before
    rises[: _BEFORE.start] = 0.0
    return rises


def _peaks(strength: np.ndarray, apart: int) -> np.ndarray:
    """Frames that are the strongest within `apart` frames, the earliest of equals."""
    candidates = np.flatnonzero(strength > 0)
    order = candidates[np.argsort(-strength[candidates], kind="stable")]
    taken = np.zeros(len(strength) + 2 * apart, bool)
    kept = []
    for frame in order:
        if not taken[frame : frame + 2 * apart + 1].any():
            taken[frame + apart] = True
            kept.append(frame)
    return np.array(sorted(kept), int)
