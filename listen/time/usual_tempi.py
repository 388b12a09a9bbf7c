"""What is usual in comping, whatever is heard, and by how much a reading must lead to be sure."""

import numpy as np

USUAL_BEATS_PER_BAR = 4
USUAL_METERS = (USUAL_BEATS_PER_BAR, 3)  # the usual one first
SLOWEST_BPM, FASTEST_BPM = 42.0, 260.0  # unless the player says so
SAME_TEMPO = 0.15  # tempi nearer than this, relative, are one
SURE_BARS = 4.0  # by how much the best turn must be likelier than the next for bars to be heard
SETTLED = 4.0  # by how much rivals must be less likely to be out of the question

_BPM, _BPM_SPREAD = 110.0, 0.4  # log-normal
_ATTACKS, _ATTACKS_SPREAD = 0.8, 0.25  # per beat, log-normal


def log_prior(bpm: np.ndarray | float, per_beat: np.ndarray | float) -> np.ndarray:
    """Log-likelihood, up to a constant, of tempi and of so many attacks per beat at each."""
    off_tempo = np.log(np.asarray(bpm) / _BPM) / _BPM_SPREAD
    off_attacks = np.log(np.asarray(per_beat) / _ATTACKS) / _ATTACKS_SPREAD
    found: np.ndarray = -0.5 * (off_tempo**2 + off_attacks**2)
    return found


def doubt(lead: float) -> float:
    """1 where a rival is as likely, less the further it is behind by `lead`."""
    return float(np.exp(-max(0.0, lead) / SETTLED))
