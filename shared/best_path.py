"""The best way through a row of steps, each of which has states to be in (Viterbi's algorithm).

A. J. Viterbi, "Error bounds for convolutional codes and an asymptotically optimum decoding
algorithm", IEEE Transactions on Information Theory 13 (1967), 260-269.
"""

from collections.abc import Callable, Sequence

import numpy as np


def best_path(
    values: Sequence[np.ndarray] | np.ndarray, moves: Callable[[int], np.ndarray]
) -> list[int]:
    """The state of each step on the path of the largest sum; of equal ones the lower state.

    values: of each step the worth of its states, (states of that step,); log-likelihoods, or
    costs with a minus. moves: for step i from 1 the worth of each move into it, (states of step
    i - 1, states of step i) or what broadcasts to it. No step gives no path.
    """
    if not len(values):
        return []
    best, came = values[0], []
    for i in range(1, len(values)):
        options = best[:, None] + moves(i)
        came.append(options.argmax(axis=0))
        best = options.max(axis=0) + values[i]
    path = [int(best.argmax())]
    for back in reversed(came):
        path.append(int(back[path[-1]]))
    return path[::-1]
