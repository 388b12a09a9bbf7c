"""Fits the weights of `recognising`: ``python -m training.classifiers.fit_recognising``.

Material, as notes: made practice takes of built-in targets (seeds from FIRST on), and choruses of
the odd tunes of `fixtures/changes` in one way of dressing each, in which nothing is practised. Each
is set against the built-in targets and some progressions in symbols. Right are the target that is
practised, and the progression that its name says; other progressions in symbols are left out for
practice takes, where they may fit as well. Logistic regression with a Gaussian prior.
"""

from collections.abc import Iterator

import click
import numpy as np
from scipy.optimize import minimize

from fixtures.forms.dressing import WAYS
from fixtures.forms.symbol_ways import PROGRESSIONS
from fixtures.played.foreign import tune, tunes
from fixtures.played.practised import make_practised
from fixtures.played.sessions import heard
from fixtures.played.truth import TrueTake
from stackline.listen.attacks.attacks import find_attacks
from stackline.practice.finding.gestures import gestures
from stackline.practice.finding.passes import find_passes
from stackline.practice.finding.recognising import Likeness, compare, inputs
from stackline.practice.targets.target_file import built_in
from stackline.practice.targets.target_text import parse_target
from stackline.practice.targets.targets import Target

FIRST, TAKES = 41_500, 40
SYMBOLS = 4  # progressions that every take is set against
MEANT = {"Dm7 | G7 | Cmaj7": "major ii-V-I", "Dm7b5 | G7 | Cm6": "minor ii-V-I"}
PRIOR = 0.05

Example = tuple[Likeness, bool]


def likenesses(take: TrueTake, targets: list[Target]) -> Iterator[tuple[Target, Likeness]]:
    """How much of a take each target is, where a whole pass of it is found."""
    played = gestures(find_attacks(heard(take)))
    for target in targets:
        rows = [row for row in find_passes(played, target) if row.finished]
        if rows:
            yield target, compare(played, rows, target)


def examples() -> Iterator[Example]:
    """What is right and what is not."""
    symbols = [parse_target(text, name=text) for text, _ in PROGRESSIONS[:SYMBOLS]]
    every = [*built_in(), *symbols]
    for i in range(TAKES):
        made = make_practised(FIRST + i, keys=2 + i % 6)
        for target, like in likenesses(made.take, every):
            if target.name in MEANT:
                if made.target.name.startswith(MEANT[target.name]):
                    yield like, True
            elif target.has_stacks:
                yield like, target.chords == made.target.chords
    ways = list(WAYS)
    for i, number in enumerate(one for one in sorted(tunes()) if one % 2):
        for _, like in likenesses(tune(number, ways[i % len(ways)], FIRST + i), every):
            yield like, False


@click.command()
def main() -> None:
    """Fit and print the weights."""
    found = list(examples())
    values = np.array([inputs(like) for like, _ in found])
    sign = np.array([1.0 if right else -1.0 for _, right in found])

    def loss(weights: np.ndarray) -> float:
        odds = values @ weights[1:] + weights[0]
        penalty = PRIOR / 2 * float(np.sum(weights[1:] ** 2))
        return float(np.logaddexp(0.0, -sign * odds).sum()) + penalty

    weights = minimize(loss, np.zeros(values.shape[1] + 1)).x
    click.echo(f"WEIGHTS = {np.round(weights[1:], 2).tolist()}\nCONSTANT = {weights[0]:.2f}")


if __name__ == "__main__":
    main()
