"""How hard the piano ear's notes were struck.

A weighted sum of the network's own answer and of what the judge sees of a note
(`inputs`: evidence, neighbours, levels of partials before and after the
strike). A recording's own gain says nothing about how hard a player struck, so velocities are
told against the take's median, which is put at `MIDDLE`. Weights by ridge regression
(``python -m training.classifiers.fit_piano_judge``).
"""

from functools import lru_cache
from pathlib import Path

import numpy as np

WEIGHTS = Path(__file__).parent / "weights" / "piano_velocity.npz"
MIDDLE = 70  # MIDI velocity of a take's median note
_SOFTEST, _LOUDEST = 1, 127
_EDGE = 1e-4


def velocity_inputs(network: np.ndarray, columns: np.ndarray) -> np.ndarray:
    """What the sum is over, (n, 1 + N_INPUTS). network: (n,) 0..1, its own answer."""
    inside = np.clip(network, _EDGE, 1 - _EDGE)
    own = np.log(inside / (1 - inside))[:, None]
    seen: np.ndarray = np.concatenate((own, columns), axis=1)
    return seen


def velocities(network: np.ndarray, columns: np.ndarray) -> np.ndarray:
    """MIDI velocities 1..127, (n,) int, of the notes of one take."""
    if not len(network):
        return np.zeros(0, int)
    values = velocity_inputs(network, columns) @ _weights()
    steps = np.rint(values - np.median(values) + MIDDLE)
    found: np.ndarray = np.clip(steps, _SOFTEST, _LOUDEST).astype(int)
    return found


@lru_cache(maxsize=1)
def _weights() -> np.ndarray:
    with np.load(WEIGHTS) as data:
        found: np.ndarray = data["weights"]
        return found
