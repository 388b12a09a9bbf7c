"""The tempo of a take, window by window, from when its attacks fall.

A player's attacks do not fall anywhere in the beat: mostly on it, else on its swung or
straight half, seldom on other thirds and quarters. `density` says how likely each place
is. For every tempo and every phase a window of attacks has a likelihood under that model;
the likeliest path of tempi through the windows, with little change from one to the next,
is the tempo of the take. Swung halves tell a tempo from its double and its half.

Units: a place in the beat is 0..1; likelihoods are natural logarithms against attacks
that fall anywhere.
"""

from dataclasses import dataclass

import numpy as np

SLOWEST_BPM, FASTEST_BPM = 45.0, 250.0
BINS = 48  # places in a beat

_STEP = 0.004  # between neighbouring tempi, relative; 16 s at that error is 0.1 of a beat
_WINDOW_S, _HOP_S = 16.0, 4.0
_TIMING_S, _TIMING_BEATS = 0.016, 0.02  # spread of a player's timing
_USUAL_BPM, _BPM_SPREAD = 110.0, 0.2  # log-normal prior, narrow: halves and doubles are near
_CHANGE = 0.012  # usual relative change of tempo from window to window
_PLACES = {  # share of attacks; the rest may fall anywhere
    0.0: 0.44,
    2 / 3: 0.20,
    0.58: 0.08,
    1 / 2: 0.16,
    1 / 3: 0.02,
    1 / 4: 0.01,
    3 / 4: 0.02,
}


@dataclass(frozen=True, kw_only=True, eq=False)
class TempoPath:
    """Beats a minute at some times (seconds), both of shape (n_windows,)."""

    time_s: np.ndarray
    bpm: np.ndarray

    def at(self, time_s: np.ndarray) -> np.ndarray:
        """Tempo at any times, interpolated."""
        return np.interp(time_s, self.time_s, self.bpm)


def density(bpm: float) -> np.ndarray:
    """Probability density of an attack's place in the beat, over `BINS` places; mean 1."""
    spread = np.hypot(_TIMING_BEATS, _TIMING_S * bpm / 60.0)
    places = np.arange(BINS) / BINS
    total = np.full(BINS, 1.0 - sum(_PLACES.values()))
    for centre, share in _PLACES.items():
        off = (places - centre + 0.5) % 1.0 - 0.5
        bump = np.exp(-0.5 * (off / spread) ** 2)
        total += share * bump / bump.mean()
    return total


def tempo_path(onsets_s: np.ndarray, weights: np.ndarray) -> TempoPath:
    """The likeliest tempi of attacks at `onsets_s` (rising), each with its weight."""
    tempi = SLOWEST_BPM * np.exp(np.arange(0, np.log(FASTEST_BPM / SLOWEST_BPM), _STEP))
    prior = -0.5 * (np.log(tempi / _USUAL_BPM) / _BPM_SPREAD) ** 2
    kernels = np.conj(np.fft.rfft(np.log([density(bpm) for bpm in tempi]), axis=1))
    starts = np.arange(onsets_s[0] - _WINDOW_S / 2, onsets_s[-1], _HOP_S)
    scores = np.array([_window_score(onsets_s, weights, start, tempi, kernels) for start in starts])
    path = _best_path(scores * (_HOP_S / _WINDOW_S), prior, tempi)
    return TempoPath(time_s=starts + _WINDOW_S / 2, bpm=tempi[path])


def _window_score(
    onsets_s: np.ndarray,
    weights: np.ndarray,
    start: float,
    tempi: np.ndarray,
    kernels: np.ndarray,
) -> np.ndarray:
    """Log-likelihood of each tempo, at its best phase, for the attacks of one window."""
    inside = (onsets_s >= start) & (onsets_s < start + _WINDOW_S)
    if not inside.any():
        return np.zeros(len(tempi))
    times, weight = onsets_s[inside] - start - _WINDOW_S / 2, weights[inside]
    places = np.floor(np.outer(tempi / 60.0, times) * BINS).astype(int) % BINS
    rows = np.arange(len(tempi))[:, None] * BINS
    counts = np.bincount(
        (rows + places).ravel(), np.tile(weight, len(tempi)), minlength=len(tempi) * BINS
    ).reshape(len(tempi), BINS)
    return np.fft.irfft(np.fft.rfft(counts, axis=1) * kernels, BINS, axis=1).max(axis=1)


def _best_path(scores: np.ndarray, prior: np.ndarray, tempi: np.ndarray) -> np.ndarray:
    """Viterbi's path through the tempi, shape (n_windows,)."""
    reach = max(1, int(6 * _CHANGE / _STEP))
    steps = np.arange(-reach, reach + 1)
    cost = 0.5 * (steps * _STEP / _CHANGE) ** 2
    best, back = scores[0] + prior, []
    for score in scores[1:]:
        padded = np.pad(best, reach, constant_values=-np.inf)
        from_each = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1) - cost
        choice = from_each.argmax(axis=1)
        back.append(np.arange(len(tempi)) + steps[choice])
        best = from_each.max(axis=1) + score + prior / len(scores)
    path = [int(best.argmax())]
    for pointers in reversed(back):
        path.append(int(pointers[path[-1]]))
    return np.array(path[::-1])
