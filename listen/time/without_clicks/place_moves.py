"""From one attack to the next: the distances that a wait can be, and how the tempo may change.

A wait is a distance in twelfths of a beat at a tempo, give or take a player's timing; the beat
itself wanders a little, and a few attacks are far off. The tempo changes by little from attack to
attack, seldom by more. Tempi are those of `TEMPI`; units are seconds; scores natural logarithms.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from stackline.listen.time.time_hints import FASTEST_HINT_BPM, SLOWEST_HINT_BPM
from stackline.listen.time.without_clicks.place_rates import MOST_BEATS, TWELFTHS

_STEP = 0.02  # between neighbouring tempi, relative
TEMPI = SLOWEST_HINT_BPM * np.exp(
    np.arange(0.0, np.log(FASTEST_HINT_BPM / SLOWEST_HINT_BPM) + _STEP, _STEP)
)
PERIODS_S = 60.0 / TEMPI
NEVER = np.float32(-1e9)

_TIMING_S, _TIMING_BEATS = 0.012, 0.012  # spread of an attack round its beat
_CLOCK = 0.4  # how uncertain the beat is, as a share of that spread's square
_WANDER_BEATS, _WANDER_S = 0.012, 0.004  # of the beat, per root of a beat, and per second
_WILD, _WILDER = 0.05, 3.0  # share of attacks that are off by so many times more
_FARTHEST = 3.5  # spreads, beyond which no distance is tried

_STEADY, _BENT, _BENDS = 0.006, 0.04, 0.2  # change of tempo per root of a beat; how often bent
LONGEST_CHANGE = round(0.12 / _STEP)  # tempi from one attack to the next
_BEATS = (0.5, 1.2, 2.8, 7.0, 25.0)  # distances for which changes are reckoned
_LIMITS = (0.7, 1.8, 4.5)  # between them; the last stands for a passage out of time
OUT_OF_TIME = len(_BEATS) - 1  # that kind of change


@dataclass(frozen=True, kw_only=True, eq=False)
class Ways:
    """The distances that a wait can be, for some tempi: arrays (n_columns, n_ways).

    twelfths: each distance; allowed: whether it is one; column: (n_columns, 1), counted. kinds:
    the kinds of change of tempo that occur; kind: which of them it is. off_s: by how much the
    wait is longer than the distance, spread_s: (n_columns,) how far that is usual; lateness:
    (n_columns,), the share of it that is the attack's own.
    """

    twelfths: np.ndarray
    allowed: np.ndarray
    column: np.ndarray
    kinds: np.ndarray
    kind: np.ndarray
    off_s: np.ndarray
    spread_s: np.ndarray
    lateness: np.ndarray

    @classmethod
    def of(cls, wait_s: float, columns: np.ndarray) -> "Ways | None":
        """The ways of a wait at the tempi `columns`; None where none fits."""
        timing_s = np.hypot(_TIMING_S, _TIMING_BEATS * PERIODS_S[columns])
        period_s = PERIODS_S[columns] / TWELFTHS
        wander = _WANDER_BEATS**2 * PERIODS_S[columns] * wait_s + (_WANDER_S * wait_s) ** 2
        variance = timing_s**2 * (1 + _CLOCK) + wander
        spread_s = np.sqrt(variance)
        least = np.maximum(1, np.ceil((wait_s - _FARTHEST * spread_s) / period_s))
        most = np.minimum(
            np.floor((wait_s + _FARTHEST * spread_s) / period_s), TWELFTHS * MOST_BEATS
        )
        count = int((most - least).max(initial=-1)) + 1
        if count <= 0:
            return None
        twelfths = least.astype(int)[:, None] + np.arange(count)
        allowed = twelfths <= most[:, None]
        twelfths = np.where(allowed, twelfths, 0)
        every = np.searchsorted(_LIMITS, twelfths / TWELFTHS)
        kinds, kind = np.unique(every, return_inverse=True)
        return cls(
            twelfths=twelfths,
            allowed=allowed,
            column=np.arange(len(columns), dtype=np.int32)[:, None],
            kinds=kinds,
            kind=kind.reshape(every.shape).astype(np.int32),
            off_s=(wait_s - twelfths * period_s[:, None]).astype(np.float32),
            spread_s=spread_s,
            lateness=(timing_s**2 / variance).astype(np.float32),
        )

    def log_density(self, off_s: np.ndarray) -> np.ndarray:
        """Of waits so much longer than their distance, (n_places, n_columns, n_ways)."""
        spread_s = self.spread_s.astype(np.float32)[:, None]
        square = np.float32(-0.5) * (off_s / spread_s) ** 2
        tame = np.float32(1 - _WILD) * np.exp(square)
        wild = np.float32(_WILD / _WILDER) * np.exp(square / np.float32(_WILDER**2))
        scale = np.float32(np.sqrt(2 * np.pi)) * spread_s
        found: np.ndarray = np.log(tame + wild + np.float32(1e-30)) - np.log(scale)
        return found


def moved(score: np.ndarray, kind: int, columns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The best score of each target tempo after a change, and the tempo it came from."""
    cost = _change(kind)
    reach = len(cost) // 2
    padded = np.pad(score, ((0, 0), (reach, reach)), constant_values=NEVER)
    from_each = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1, axis=1)
    options = from_each[:, columns] + cost
    chosen = options.argmax(axis=2)
    came = np.clip(columns + chosen - reach, 0, len(TEMPI) - 1).astype(np.int16)
    return np.take_along_axis(options, chosen[:, :, None], axis=2)[:, :, 0], came


@lru_cache(maxsize=8)
def _change(kind: int) -> np.ndarray:
    """Log chance of each change of tempo over a kind of distance; symmetric."""
    beats = _BEATS[kind]
    change = np.arange(-LONGEST_CHANGE, LONGEST_CHANGE + 1) * _STEP
    total = np.zeros(len(change))
    for share, spread in ((1 - _BENDS, np.hypot(_STEADY * np.sqrt(beats), 0.4 * _STEP)),
                          (_BENDS, _BENT * np.sqrt(beats))):  # fmt: skip
        total += share * np.exp(-0.5 * (change / spread) ** 2) / spread
    found: np.ndarray = np.log(total / total.sum()).astype(np.float32)
    return found
