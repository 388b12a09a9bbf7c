"""Fits the weights of `section_edges`: ``python -m training.classifiers.fit_section_edges``.

Material: made sessions (`fixtures.played.sessions`) from the TRAIN seeds on, as notes. Every row of
one to three neighbouring parts is an example: in a row of one no edge is right; in a longer one
any true edge is, within `NEAR_S`. The chances of "no edge" and of an edge after each attack are a
softmax over the weighted measures, as `section_edges` chooses; weights make what is right the
likeliest (maximum likelihood with a Gaussian prior).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import click
import numpy as np
from scipy.optimize import minimize

from fixtures.played.sessions import TRAIN, TrueSession, as_heard, make_session
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.sections.section_edges import allowed, inputs
from stackline.listen.sections.section_measures import measures, played

NEAR_S = 1.2  # of an edge that is as good
MOST_PARTS = 3
PRIOR = 0.3  # of a standardised weight: its precision


@dataclass(frozen=True, kw_only=True, eq=False)
class Row:
    """inputs: (n, 7) of the gaps where an edge may be; right: (n,), none where no edge is."""

    inputs: np.ndarray
    right: np.ndarray


def rows(session: TrueSession) -> Iterator[Row]:
    """The examples of a session."""
    notes, others = as_heard(session)
    here = played(find_attacks(notes), others)
    middles_s = (here.onset_s[:-1] + here.onset_s[1:]) / 2
    starts = [int(np.searchsorted(here.onset_s, part.start_s - 0.12)) for part in session.parts]
    bounds = [*starts, len(here.onset_s)]
    for first in range(len(session.parts)):
        for after in range(first + 1, min(first + MOST_PARTS, len(session.parts)) + 1):
            low, high = bounds[first], bounds[after] - 1
            if high <= low or not (may_be := allowed(here, low, high)).any():
                continue
            right = np.zeros(high - low, bool)
            for start_s, end_s in session.edges[first : after - 1]:
                inside = middles_s[low:high]
                right |= (inside >= start_s - NEAR_S) & (inside <= end_s + NEAR_S)
            found = inputs(measures(here, low, high))
            yield Row(inputs=found[may_be], right=right[may_be])


def fit(examples: list[Row]) -> tuple[np.ndarray, float]:
    """Weights of `inputs`, and the constant."""
    every = np.concatenate([row.inputs for row in examples])
    mean, spread = every.mean(axis=0), every.std(axis=0) + 1e-9
    scaled = [((row.inputs - mean) / spread, row.right) for row in examples]

    def loss(weights: np.ndarray) -> tuple[float, np.ndarray]:
        total = PRIOR / 2 * float(np.sum(weights[1:] ** 2))
        slope = np.concatenate(([0.0], PRIOR * weights[1:]))
        for values, right in scaled:
            odds = np.concatenate(([0.0], values @ weights[1:] + weights[0]))
            chances = np.exp(odds - odds.max())
            chances /= chances.sum()
            meant = np.concatenate(([not right.any()], right)) * chances
            total -= float(np.log(meant.sum() + 1e-300))
            change = (chances - meant / (meant.sum() + 1e-300))[1:]
            slope += np.concatenate(([change.sum()], values.T @ change))
        return total, slope

    found = minimize(loss, np.zeros(every.shape[1] + 1), jac=True, method="L-BFGS-B").x
    weights = found[1:] / spread
    return weights, float(found[0] - weights @ mean)


@click.command()
@click.option("--sessions", default=160, show_default=True, type=click.IntRange(1))
def main(sessions: int) -> None:
    """Fit and print the weights."""
    examples: list[Row] = []
    for seed in range(TRAIN, TRAIN + sessions):
        examples += rows(make_session(seed))
    weights, none = fit(examples)
    click.echo(f"WEIGHTS = {np.round(weights, 3).tolist()}\nNONE = {none:.3f}")


if __name__ == "__main__":
    main()
