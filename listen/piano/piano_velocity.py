"""How hard the piano ear's notes were struck.

The network answers with a velocity of its own. A recording's gain says nothing about how hard
a player struck, so velocities are given against the take's median, which is put at `MIDDLE`.
The scale between the answer's log odds and MIDI velocities is fitted by least squares
(``python -m training.classifiers.fit_piano_trust``).
"""

from functools import lru_cache
from pathlib import Path

import numpy as np

WEIGHTS = Path(__file__).parent / "weights" / "piano_velocity.npz"
MIDDLE = 70  # MIDI velocity of a take's median note
_SOFTEST, _LOUDEST = 1, 127  # MIDI velocities (0 would be a note off)
_EDGE = 1e-4  # chances are kept this far from 0 and 1


def log_odds(network: np.ndarray) -> np.ndarray:
    """The network's answers 0..1, (n,), as log odds (natural logarithm), (n,)."""
    inside = np.clip(network, _EDGE, 1 - _EDGE)
    found: np.ndarray = np.log(inside / (1 - inside))
    return found


def velocities(network: np.ndarray) -> np.ndarray:
    """MIDI velocities 1..127, (n,) int, of the notes of one take. network: (n,) 0..1."""
    if not len(network):
        return np.zeros(0, int)
    values = log_odds(network) * _scale()
    steps = np.rint(values - np.median(values) + MIDDLE)
    found: np.ndarray = np.clip(steps, _SOFTEST, _LOUDEST).astype(int)
    return found


@lru_cache(maxsize=1)
def _scale() -> float:
    with np.load(WEIGHTS) as data:
        return float(data["scale"])
