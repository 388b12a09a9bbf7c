"""What shows the pulse: moments in time, how much each counts, and where in a beat they fall.

Two kinds. Attacks of a comping player fall mostly on the beat, else on its swung or straight
half, seldom on other thirds and quarters. Clicks (metronome, hi-hat, ride) fall on the beat
or, from a drummer, on its swung half. `density` says how likely each place is.

Units: a place in the beat is 0..1; densities have mean 1 over the beat.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from stackline.listen.other_sounds.clicks import Clicks
from stackline.shared.notes import Attack

BINS = 48  # places in a beat

Kind = Literal["attacks", "clicks"]

_TIMING_S = {"attacks": 0.016, "clicks": 0.010}  # spread of timing, with a beat's share
_TIMING_BEATS = {"attacks": 0.02, "clicks": 0.01}
_PLACES = {  # share of strokes; the rest may fall anywhere
    "attacks": {
        0.0: 0.44, 2 / 3: 0.20, 0.58: 0.08, 1 / 2: 0.16, 1 / 3: 0.02, 1 / 4: 0.01, 3 / 4: 0.02,
    },
    "clicks": {0.0: 0.74, 2 / 3: 0.10, 0.58: 0.03, 1 / 2: 0.05},
}  # fmt: skip
_BPM_STEP = 1.02  # densities are kept for tempi this far apart


@dataclass(frozen=True, kw_only=True, eq=False)
class Strokes:
    """Moments of one kind, rising; time_s and weight have shape (n,)."""

    kind: Kind
    time_s: np.ndarray
    weight: np.ndarray

    def log_density(self, bpm: float) -> np.ndarray:
        """Log-likelihood of each place in a beat at a tempo, shape (BINS,)."""
        return log_density(self.kind, bpm)


def of_attacks(attacks: Sequence[Attack]) -> Strokes:
    """Attacks, each weighing as much as its surest note is sure."""
    return Strokes(
        kind="attacks",
        time_s=np.array([attack.onset_s for attack in attacks]),
        weight=np.array([max(note.confidence for note in one.struck) for one in attacks]),
    )


def of_clicks(clicks: Clicks, weight: np.ndarray) -> Strokes:
    """Clicks that weigh anything."""
    some = weight > 0
    return Strokes(kind="clicks", time_s=clicks.time_s[some], weight=weight[some])


def density(bpm: float, kind: Kind = "attacks") -> np.ndarray:
    """Probability density of a stroke's place in the beat, over `BINS` places; mean 1."""
    spread = float(np.hypot(_TIMING_BEATS[kind], _TIMING_S[kind] * bpm / 60.0))
    return mixture(_PLACES[kind], spread, n_beats=1)


def log_density(kind: Kind, bpm: float) -> np.ndarray:
    """Its logarithm, of the nearest tempo that is kept."""
    return _kept(kind, round(float(np.log(bpm) / np.log(_BPM_STEP))))


@lru_cache(maxsize=1024)
def _kept(kind: Kind, step: int) -> np.ndarray:
    values = np.log(density(_BPM_STEP**step, kind))
    values.setflags(write=False)
    return values


def mixture(places: dict[float, float], spread: float, *, n_beats: int) -> np.ndarray:
    """A density over `n_beats` beats (a circle): shares at some places, the rest anywhere."""
    at = np.arange(BINS * n_beats) / BINS
    total = np.full(len(at), 1.0 - sum(places.values()))
    for centre, share in places.items():
        off = (at - centre + n_beats / 2) % n_beats - n_beats / 2
        bump = np.exp(-0.5 * (off / spread) ** 2)
        total += share * bump / bump.mean()
    return total
