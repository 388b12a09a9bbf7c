"""Fit the labeller's weights of progressions to the tuning forms.

Run ``python -m training.classifiers.fit_progress`` (a minute or two on one core); it writes
theory/labelling/progress_fit.txt. With ``--held-out`` it writes nothing: each quarter of the forms
is named with what was fitted on the other three, and the shares are printed, before and after.

What is raised is the log chance of the true chords (`progress_gradient`), less a pull
of every correction to none, that is to the hand-set tables. Played are all TUNING_FORMS, as
two-note shells once and as stacks `PLAYS` times, and generated takes of all TUNING_SEEDS but the
last, which is held out; nothing that a figure is quoted on. Stacks weigh `STACKS` times as much
as shells: shells, which are open to many readings, would else bend the tables away from what
stacks need. Too few generated takes do the same to plain ii-V-I.
"""

import argparse
import random
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

from bench.labels import TUNING_SEEDS, generated_takes
from fixtures.played.progressions import Played, form, guide_tone_shells, voiced
from fixtures.played.tuning_forms import TUNING_FORMS
from stackline.shared.files import write_text
from stackline.theory.labelling.labeller import family_of_role
from stackline.theory.labelling.progress_fit import PATH, SHAPES, written
from training.classifiers.progress_gradient import (
    Pair,
    Tables,
    batches,
    decoded,
    empty,
    gain,
    weights_of,
)

SEED = 11
ROUNDS = 25
GENERATED = 100  # takes a seed
PLAYS = 3  # of each form in stacks: other keys, other shapes
STACKS = 3.0
PULL = {"follow": 0.5, "in_key": 0.5, "entry": 0.5, "start": 1.5, "moves": 0.5}
HELD_OUT = 4  # parts
SURE = 0.9
Takes = list[list[Played]]
Play = Callable[[list[tuple[int, str]], random.Random], list[Played]]


def _cut(numbers: np.ndarray) -> Tables:
    """One long vector as tables."""
    ends = np.cumsum([np.prod(shape) for shape in SHAPES.values()])[:-1]
    return dict(zip(SHAPES, np.split(numbers, ends), strict=True))


def _long(tables: Tables) -> np.ndarray:
    return np.concatenate([tables[name] for name in SHAPES])


def fit(data: Sequence[Pair], rounds: int, pull_times: float) -> Tables:
    """Corrections that raise the chance of the truth, pulled back to none."""
    pull = _long({name: np.full(len(row), PULL[name]) for name, row in empty().items()})
    pull *= pull_times

    def cost(numbers: np.ndarray) -> tuple[float, np.ndarray]:
        worth, gradient = gain(_cut(numbers), data)
        print(f"log chance of the truth {worth:9.1f}", flush=True)
        return 0.5 * float(pull @ numbers**2) - worth, pull * numbers - _long(gradient)

    found = minimize(cost, _long(empty()), jac=True, method="L-BFGS-B", options={"maxiter": rounds})
    return _cut(found.x)


def named(tables: Tables, takes: Takes) -> np.ndarray:
    """Whether each voicing is named right by root and family, and its chance: (2, n)."""
    rows = []
    for pair in batches(takes, [1.0] * len(takes)):
        chances = decoded(pair.free, weights_of(tables)).chances @ family_of_role()
        real, truth = pair.free.truth >= 0, pair.free.truth
        rows.append(np.array([(chances.argmax(axis=2) == truth)[real], chances.max(axis=2)[real]]))
    return np.concatenate(rows, axis=1)


def told(found: Sequence[np.ndarray]) -> str:
    """Shares right, sure, and right where sure."""
    hit, chance = np.concatenate(found, axis=1)
    sure = chance >= SURE
    shares = hit.mean(), sure.mean(), hit[sure].mean()
    return "right {:.3f}, sure {:.3f}, right where sure {:.3f}".format(*shares)


def played(play: Play, seed: int) -> Takes:
    """Every tuning form, each in one drawn key."""
    rng = random.Random(seed)
    return [play(form(text, up=rng.randrange(12)), rng) for text in TUNING_FORMS]


def material(left_out: int | None, stacks: float) -> list[Pair]:
    """All that is fitted on, without one part of the forms where that is to be named."""
    kept = [i for i in range(len(TUNING_FORMS)) if i % HELD_OUT != left_out]
    takes = generated_takes(TUNING_SEEDS[:-1], GENERATED)
    weights = [1.0] * len(takes)
    plays = [(guide_tone_shells, SEED, 1.0)]
    plays += [(voiced, SEED + i, stacks / PLAYS) for i in range(PLAYS)]
    for play, seed, weight in plays:
        every = played(play, seed)
        takes += [every[i] for i in kept]
        weights += [weight] * len(kept)
    return batches(takes, weights)


def held_out(rounds: int, stacks: float, pull: float) -> list[str]:
    """How what was not fitted on fares: a line for shells, for stacks, for generated takes."""
    sets = {"two-note shells": played(guide_tone_shells, SEED), "stacks": played(voiced, SEED)}
    made = generated_takes(TUNING_SEEDS[-1:], GENERATED)
    before: dict[str, list[np.ndarray]] = {name: [] for name in (*sets, "generated")}
    after: dict[str, list[np.ndarray]] = {name: [] for name in before}
    for part in range(HELD_OUT):
        tables = fit(material(part, stacks), rounds, pull)
        parts = {name: takes[part::HELD_OUT] for name, takes in sets.items()} | {"generated": made}
        for name, takes in parts.items():
            before[name].append(named(empty(), takes))
            after[name].append(named(tables, takes))
    return [f"{name}, held out: {told(before[name])} -> {told(after[name])}" for name in before]


def main() -> None:
    """Fit and write, or show how held-out forms fare."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--held-out", action="store_true", help="name each part by the others")
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--stacks", type=float, default=STACKS, help="weight of forms in stacks")
    parser.add_argument("--pull", type=float, default=1.0, help="times the pull")
    parser.add_argument("--into", type=Path, default=PATH, help="the file to write")
    given = parser.parse_args()
    if given.held_out:
        print("\n".join(held_out(given.rounds, given.stacks, given.pull)))
    else:
        tables = fit(material(None, given.stacks), given.rounds, given.pull)
        write_text(given.into, written(tables))


if __name__ == "__main__":
    main()
