"""Small networks of one hidden layer of rectified units: judges, habits, listeners.

Weights lie in ``.npz`` files under the names of `OneLayer`'s fields, several networks in one file
with a prefix each. What the values mean (log odds, changes of them) their users say.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np


@dataclass(frozen=True, kw_only=True, eq=False)
class OneLayer:
    """hidden: (n_in, n_hidden). hidden_bias: (n_hidden,). out: (n_hidden,) and out_bias: (), or
    (n_hidden, n_out) and (n_out,).
    """

    hidden: np.ndarray
    hidden_bias: np.ndarray
    out: np.ndarray
    out_bias: np.ndarray

    def __call__(self, inputs: np.ndarray) -> np.ndarray:
        """Values, shape (n,) or (n, n_out), for inputs (n, n_in)."""
        values: np.ndarray = (
            np.maximum(inputs @ self.hidden + self.hidden_bias, 0.0) @ self.out + self.out_bias
        )
        return values


def load(path: Path, prefix: str = "") -> OneLayer:
    """A network from a file of weights."""
    with np.load(path) as data:
        return OneLayer(**{name: data[prefix + name] for name in OneLayer.__annotations__})
