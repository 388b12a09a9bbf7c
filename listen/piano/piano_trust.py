"""How far an attack's set of keys can be trusted: the chance that it is exact.

From the log odds of its candidates: how likely all decisions are right together if each were
judged alone (and the logarithm of the doubt in that, for the judge and for the network
alone); and from their margins, the log odds against what a candidate needs to count as
struck: the weakest key kept, and the strongest left out. Weights by logistic regression on
takes of instruments that the network was not trained on
(``python -m training.classifiers.fit_piano_judge``).
"""

from functools import lru_cache
from pathlib import Path

import numpy as np

WEIGHTS = Path(__file__).parent / "weights" / "piano_trust.npz"
_LEAST = 1e-3  # doubt below which all is the same
_MOST = 10.0  # log odds beyond which all is the same


def trust_inputs(evidence: np.ndarray, odds: np.ndarray, margins: np.ndarray) -> np.ndarray:
    """What trust rests on, shape (6,), see the module's words.

    evidence, odds: (n,) of one attack's candidates, the network's log odds and those after
    the judge. margins: (n,); 0 and more is kept, and one at least is.
    """
    is_kept = margins >= 0
    heard, judged = (_joint(values, is_kept) for values in (evidence, odds))
    weakest = min(float(margins[is_kept].min()), _MOST)
    strongest = min(float(-margins[~is_kept].max(initial=-_MOST)), _MOST)
    doubts = np.log(np.maximum((judged, heard), _LEAST))
    return np.array([-min(judged, _MOST), weakest, strongest, *doubts, 1.0])


def _joint(odds: np.ndarray, is_kept: np.ndarray) -> float:
    """Minus the log chance that all decisions are right, if each is judged alone."""
    return float(np.sum(np.logaddexp(0.0, np.where(is_kept, -odds, odds))))


def chance_exact(evidence: np.ndarray, odds: np.ndarray, margins: np.ndarray) -> float:
    """The chance that just the kept candidates of an attack were struck."""
    return float(1 / (1 + np.exp(-_weights() @ trust_inputs(evidence, odds, margins))))


@lru_cache(maxsize=1)
def _weights() -> np.ndarray:
    with np.load(WEIGHTS) as data:
        found: np.ndarray = data["weights"]
        return found
