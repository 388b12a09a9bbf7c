"""The best path, against every path there is and against librosa's decoder."""

from itertools import pairwise, product

import librosa
import numpy as np
import pytest

from stackline.shared.best_path import best_path


@pytest.mark.parametrize("seed", range(8))
def test_no_other_path_is_worth_more(seed: int) -> None:
    """All paths through steps with differing numbers of states are counted through."""
    rng = np.random.default_rng(seed)
    sizes = rng.integers(1, 5, size=6)
    values = [rng.normal(size=size) for size in sizes]
    moves = [np.empty((0, 0))] + [rng.normal(size=pair) for pair in pairwise(sizes)]

    def worth(path: tuple[int, ...]) -> float:
        own = sum(row[at] for row, at in zip(values, path, strict=True))
        return own + sum(moves[i][path[i - 1], path[i]] for i in range(1, len(path)))

    every = max(product(*map(range, sizes)), key=worth)
    assert tuple(best_path(values, moves.__getitem__)) == every


def test_it_decodes_as_librosa_does() -> None:
    """librosa.sequence.viterbi on random probabilities of 12 states, 200 steps."""
    rng = np.random.default_rng(3)
    states, steps = 12, 200
    likely = rng.dirichlet(np.ones(states), size=steps)
    change = rng.dirichlet(np.ones(states), size=states)
    theirs = librosa.sequence.viterbi(likely.T, change, p_init=np.full(states, 1 / states))
    assert best_path(np.log(likely), lambda _: np.log(change)) == theirs.tolist()


def test_ends() -> None:
    """No step has no path; one step is its best state; of equal states the lower."""
    assert best_path([], lambda _: np.zeros((1, 1))) == []
    assert best_path([np.array([1.0, 3.0, 3.0])], lambda _: np.zeros((3, 3))) == [1]
