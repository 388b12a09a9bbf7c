"""The best way through a row of steps, each of which has states to be in (Viterbi's algorithm).

A. J. Viterbi, "Error bounds for convolutional codes and an asymptotically optimum decoding
algorithm", IEEE Transactions on Information Theory 13 (1967), 260-269.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

Moves = Callable[[int], np.ndarray]


@dataclass(frozen=True)
class Ends:
    """The best way to each state of the last step. worth: (states of the last step,)."""

    worth: np.ndarray
    came: tuple[np.ndarray, ...]

    def path_to(self, state: int) -> list[int]:
        """The state of each step on the best path that ends in a state; of equals the lower."""
        path = [state]
        for back in reversed(self.came):
            path.append(int(back[path[-1]]))
        return path[::-1]


def best_ends(values: Sequence[np.ndarray] | np.ndarray, moves: Moves) -> Ends:
    """The best path to each last state; at least one step. See `best_path`."""
    best, came = values[0], []
    for i in range(1, len(values)):
        options = best[:, None] + moves(i)
        came.append(options.argmax(axis=0))
        best = options.max(axis=0) + values[i]
    return Ends(worth=best, came=tuple(came))


def best_path(values: Sequence[np.ndarray] | np.ndarray, moves: Moves) -> list[int]:
    """The state of each step on the path of the largest sum; of equal ones the lower state.

    values: of each step the worth of its states, (states of that step,); log-likelihoods, or
    costs with a minus. moves: for step i from 1 the worth of each move into it, (states of step
    i - 1, states of step i) or what broadcasts to it. No step gives no path.
    """
    if not len(values):
        return []
    ends = best_ends(values, moves)
    return ends.path_to(int(ends.worth.argmax()))
