"""The tempo of a take, window by window, from when its strokes fall.

For every tempo and every phase the strokes of a window (`strokes`) have a likelihood;
the likeliest path of tempi through the windows, with little change from one to the next, is
the tempo of the take. Swung halves tell a tempo from its double and its half.

Clicks count only where they are regular: `regular` asks whether some tempo explains the
clicks of a window far better than chance would. Speech clicks too, but at random.

Units: likelihoods are natural logarithms against strokes that fall anywhere.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from stackline.listen.other_sounds.clicks import Clicks
from stackline.listen.time.strokes import BINS, Kind, Strokes, density

SLOWEST_BPM, FASTEST_BPM = 45.0, 250.0

_STEP = 0.004  # between neighbouring tempi, relative; 16 s at that error is 0.1 of a beat
_WINDOW_S, _HOP_S = 16.0, 4.0
_USUAL_BPM, _BPM_SPREAD = 110.0, 0.2  # log-normal prior, narrow: halves and doubles are near
_GIVEN_SPREAD = 0.02  # of the tempo round one that is given
_CHANGE = 0.012  # usual relative change of tempo from window to window
# Mean log-likelihood of a window's clicks at the best tempo, against what the model expects
# of itself. Metronomes and drummers reach 1.3 to 2.1; eight or more clicks at random 1.25 at
# most, half of them under 0.75.
_FEWEST_CLICKS = 8
_RANDOM, _REGULAR = 1.15, 1.4


@dataclass(frozen=True, kw_only=True, eq=False)
class TempoPath:
    """Beats a minute at some times (seconds), both of shape (n_windows,)."""

    time_s: np.ndarray
    bpm: np.ndarray

    def at(self, time_s: np.ndarray) -> np.ndarray:
        """Tempo at any times, interpolated."""
        return np.interp(time_s, self.time_s, self.bpm)


def tempo_path(strokes: Sequence[Strokes], *, given_bpm: float | None = None) -> TempoPath:
    """The likeliest tempi of all strokes together; at least one stroke is needed.

    given_bpm: what the player says; the path keeps within some per cent of it.
    """
    usual, spread = (given_bpm, _GIVEN_SPREAD) if given_bpm else (_USUAL_BPM, _BPM_SPREAD)
    tempi = _tempi(given_bpm)
    prior = -0.5 * (np.log(tempi / usual) / spread) ** 2
    starts = _starts(strokes)
    scores = np.array([_scores(strokes, start, tempi) for start in starts])
    weighed = scores * (_HOP_S / _WINDOW_S) + prior * (1.0 if given_bpm else 1.0 / len(starts))
    path = _best_path(weighed, prior, tempi)
    return TempoPath(time_s=starts + _WINDOW_S / 2, bpm=tempi[path])


def regular(clicks: Clicks) -> np.ndarray:
    """How regular the clicks around each click are, 0 to 1, shape (n,).

    Only those alone are asked: the others may be the noise of the attacks themselves.
    """
    alone = clicks.where(clicks.alone)
    if len(alone.time_s) < _FEWEST_CLICKS:
        return np.zeros(len(clicks.time_s))
    strokes = Strokes(kind="clicks", time_s=alone.time_s, weight=alone.strength)
    tempi = _tempi(None)
    densities = [density(bpm, "clicks") for bpm in tempi]
    expected = np.array([np.mean(one * np.log(one)) for one in densities])
    best = np.zeros(len(clicks.time_s))
    for start in _starts([strokes]):
        asked = (alone.time_s >= start) & (alone.time_s < start + _WINDOW_S)
        if asked.sum() >= _FEWEST_CLICKS:
            scores = _scores([strokes], start, tempi) / alone.strength[asked].sum() / expected
            share = (float(scores.max()) - _RANDOM) / (_REGULAR - _RANDOM)
            inside = (clicks.time_s >= start) & (clicks.time_s < start + _WINDOW_S)
            best[inside] = np.maximum(best[inside], min(1.0, max(0.0, share)))
    return best


def _tempi(given_bpm: float | None) -> np.ndarray:
    """The tempi that are asked about."""
    low, high = SLOWEST_BPM, FASTEST_BPM
    if given_bpm:
        low, high = given_bpm * np.exp(-4 * _GIVEN_SPREAD), given_bpm * np.exp(4 * _GIVEN_SPREAD)
    tempi: np.ndarray = low * np.exp(np.arange(0, np.log(high / low) + _STEP / 2, _STEP))
    return tempi


def _starts(strokes: Sequence[Strokes]) -> np.ndarray:
    first = min(one.time_s[0] for one in strokes if len(one.time_s))
    last = max(one.time_s[-1] for one in strokes if len(one.time_s))
    return np.arange(first - _WINDOW_S / 2, last + 1e-3, _HOP_S)


def _scores(strokes: Sequence[Strokes], start: float, tempi: np.ndarray) -> np.ndarray:
    """Log-likelihood of each tempo, at its best phase, for the strokes of one window."""
    by_phase = np.zeros((len(tempi), BINS))
    for some in strokes:
        inside = (some.time_s >= start) & (some.time_s < start + _WINDOW_S)
        if inside.any():
            times = some.time_s[inside] - start - _WINDOW_S / 2
            counts = _places(times, some.weight[inside], tempi)
            kernels = _kernels(some.kind, float(tempi[0]), len(tempi))
            by_phase += np.fft.irfft(np.fft.rfft(counts, axis=1) * kernels, BINS, axis=1)
    best: np.ndarray = by_phase.max(axis=1)
    return best


def _places(times: np.ndarray, weight: np.ndarray, tempi: np.ndarray) -> np.ndarray:
    """Weight in each place of the beat, for each tempo: shape (n_tempi, BINS)."""
    places = np.floor(np.outer(tempi / 60.0, times) * BINS).astype(int) % BINS
    rows = np.arange(len(tempi))[:, None] * BINS
    size = len(tempi) * BINS
    counts = np.bincount((rows + places).ravel(), np.tile(weight, len(tempi)), minlength=size)
    return counts.reshape(len(tempi), BINS)


@lru_cache(maxsize=8)
def _kernels(kind: Kind, lowest_bpm: float, count: int) -> np.ndarray:
    """Spectra of the log densities of neighbouring tempi, from `lowest_bpm` up."""
    tempi = lowest_bpm * np.exp(np.arange(count) * _STEP)
    logs = np.log([density(bpm, kind) for bpm in tempi])
    return np.conj(np.fft.rfft(logs, axis=1))


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
        best = from_each.max(axis=1) + score
    path = [int(best.argmax())]
    for pointers in reversed(back):
        path.append(int(pointers[path[-1]]))
    return np.array(path[::-1])
