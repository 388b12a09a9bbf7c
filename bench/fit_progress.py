"""Fit the labeller's weights of progressions to the tuning forms.

Run ``python -m bench.fit_progress`` (about ten minutes on one core); it writes
theory/progress_fit.txt. With ``--held-out`` it writes nothing: it fits without every fourth
form and prints how those are then named, before and after.

The chain of `theory.context` is a conditional random field; what is raised is the log chance of
the true chords, each known by root and family, with roles and keys left hidden:

    log weight of all paths through the truth - log weight of all paths - pull to the hand-set

Its gradient is the difference of the expected uses of each weight. Played are all
TUNING_FORMS, as stacks and as two-note shells, and generated takes of TUNING_SEEDS, all from
`SEED`; nothing that a figure is quoted on. Sequences are padded and decoded side by side.
"""

import argparse
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from bench.labels import TUNING_SEEDS, generated_takes, state_of, steps_of
from bench.progressions import Played, form, guide_tone_shells, voiced
from bench.tuning_forms import TUNING_FORMS
from shared.files import write_text
from theory.context import N_CHORDS, N_KEYS, Weights, prior_weights
from theory.labeller import family_of_role, note_scores, stay_chances
from theory.progress_fit import PATH, SHAPES, cells, written

SEED = 11
ROUNDS = 25
GENERATED = 25  # takes a seed
PULL = {"follow": 1.0, "in_key": 1.0, "entry": 1.0, "start": 3.0, "moves": 1.0}
HELD_OUT = 4  # every so many forms
Tables = dict[str, np.ndarray]


@dataclass(frozen=True, kw_only=True, eq=False)
class Batch:
    """Takes side by side: T steps of B takes, float32, short ones padded.

    heard (T, B, 108): likelihoods of the notes; allowed (T, B, 108): 0/1, the states of the
    true root and family; stays (T, B); truth (T, B): family states, -1 in the padding, where
    nothing is heard and every chord stays.
    """

    heard: np.ndarray
    allowed: np.ndarray
    stays: np.ndarray
    truth: np.ndarray


def batch(takes: Sequence[Sequence[Played]]) -> Batch:
    """Score the notes of takes once."""
    shape = (max(map(len, takes)), len(takes))
    heard, allowed = np.ones((2, *shape, N_CHORDS), dtype=np.float32)
    stays, truth = np.ones(shape, dtype=np.float32), np.full(shape, -1)
    for b, played in enumerate(takes):
        steps = steps_of(played)
        scores, n = note_scores(steps), len(played)
        heard[:n, b] = np.exp(scores - scores.max(axis=1, keepdims=True))
        stays[:n, b] = stay_chances(steps)
        truth[:n, b] = [state_of(one) for one in played]
        allowed[:n, b] = family_of_role()[:, truth[:n, b]].T
    return Batch(heard=heard, allowed=allowed, stays=stays, truth=truth)


def weights_of(tables: Tables) -> Weights:
    """The hand-set weights with corrections, float32."""
    prior = prior_weights()
    made = {
        name: (getattr(prior, name) * np.exp(tables[name][cells(name)])).astype(np.float32)
        for name in SHAPES
    }
    return Weights(**made)


@dataclass(frozen=True, kw_only=True, eq=False)
class Decoded:
    """Log weight of all paths (B,), expected uses of each weight, chances (T, B, 108)."""

    evidence: np.ndarray
    uses: Tables
    chances: np.ndarray


def decoded(data: Batch, weights: Weights, *, to_truth: bool) -> Decoded:
    """Both passes over a batch; to_truth: only along paths through the truth."""
    heard = data.heard * data.allowed if to_truth else data.heard
    beliefs, evidence = _forward(heard, data.stays, weights)
    uses = {name: np.zeros(int(np.prod(shape))) for name, shape in SHAPES.items()}
    chances = np.empty(heard.shape, dtype=np.float32)
    later = np.ones(beliefs.shape[1:], dtype=np.float32)
    for i in range(len(heard) - 1, -1, -1):
        both = beliefs[i] * later
        both /= both.sum(axis=(1, 2), keepdims=True)
        chances[i] = both.sum(axis=1)
        if not i:
            _add(uses, "start", both.sum(axis=0))
            break
        later = later * heard[i][:, None, :]
        later = _back(beliefs[i - 1], later, data.stays[i], weights, uses)
    return Decoded(evidence=evidence, uses=uses, chances=chances)


def _forward(
    heard: np.ndarray, stays: np.ndarray, weights: Weights
) -> tuple[np.ndarray, np.ndarray]:
    """Beliefs (T, B, 24, 108) after each step, and the log weight of all paths (B,)."""
    n, takes, _ = heard.shape
    beliefs = np.empty((n, takes, N_KEYS, N_CHORDS), dtype=np.float32)
    evidence = np.zeros(takes)
    now = np.broadcast_to(weights.start, beliefs.shape[1:])
    for i in range(n):
        if i:
            led = _led(beliefs[i - 1], weights.follow)
            changed = weights.stays * led * weights.in_key
            changed += np.matmul(weights.leaves.T, led) * weights.entry
            stay = stays[i][:, None, None]
            now = stay * beliefs[i - 1] + (1 - stay) * changed
        now = now * heard[i][:, None, :]
        total = now.sum(axis=(1, 2))
        evidence += np.log(total)
        beliefs[i] = now / total[:, None, None]
    return beliefs, evidence


def _led(belief: np.ndarray, follow: np.ndarray) -> np.ndarray:
    """Beliefs (B, 24, 108) over a change of chord."""
    return (belief.reshape(-1, N_CHORDS) @ follow).reshape(belief.shape)


def _add(uses: Tables, name: str, full: np.ndarray) -> None:
    """Fold uses of a full table into those of its cells."""
    uses[name] += np.bincount(cells(name).ravel(), full.ravel(), len(uses[name]))


def _back(
    before: np.ndarray, later: np.ndarray, stays: np.ndarray, weights: Weights, uses: Tables
) -> np.ndarray:
    """Carry `later` back over one step, and count what the step uses."""
    entered = weights.entry * later
    reached = weights.stays * weights.in_key * later + np.matmul(weights.leaves, entered)
    stay = stays[:, None, None]
    carried = stay * later + (1 - stay) * _led(reached, weights.follow.T)
    share = (1 - stay) / (before * carried).sum(axis=(1, 2), keepdims=True)
    from_ = before * share
    pairs = from_.reshape(-1, N_CHORDS).T @ reached.reshape(-1, N_CHORDS)
    _add(uses, "follow", pairs * weights.follow)
    led = _led(from_, weights.follow)
    kept = (weights.stays * led * weights.in_key * later).sum(axis=0)
    _add(uses, "in_key", kept)
    _add(uses, "entry", (np.matmul(weights.leaves.T, led) * entered).sum(axis=0))
    moved = weights.leaves * np.einsum("bkd,bqd->kq", led, entered, optimize=True)
    _add(uses, "moves", moved + np.diag(kept.sum(axis=1)))
    return carried / carried.max(axis=(1, 2), keepdims=True)


def gain(tables: Tables, data: Batch) -> tuple[float, Tables]:
    """The log chance of the truth over a batch, and its gradient."""
    weights = weights_of(tables)
    truth, free = decoded(data, weights, to_truth=True), decoded(data, weights, to_truth=False)
    gradient = {name: truth.uses[name] - free.uses[name] for name in SHAPES}
    return float((truth.evidence - free.evidence).sum()), gradient


def empty() -> Tables:
    """No corrections."""
    return {name: np.zeros(int(np.prod(shape))) for name, shape in SHAPES.items()}


def _cut(numbers: np.ndarray) -> Tables:
    """One long vector as tables."""
    ends = np.cumsum([np.prod(shape) for shape in SHAPES.values()])[:-1]
    return dict(zip(SHAPES, np.split(numbers, ends), strict=True))


def _long(tables: Tables) -> np.ndarray:
    return np.concatenate([tables[name] for name in SHAPES])


def fit(data: Batch, rounds: int) -> Tables:
    """Corrections that raise the chance of the truth, pulled back to none."""
    pull = _long({name: np.full(len(row), PULL[name]) for name, row in empty().items()})

    def cost(numbers: np.ndarray) -> tuple[float, np.ndarray]:
        worth, gradient = gain(_cut(numbers), data)
        print(f"log chance of the truth {worth:9.1f}", flush=True)
        return 0.5 * float(pull @ numbers**2) - worth, pull * numbers - _long(gradient)

    found = minimize(cost, _long(empty()), jac=True, method="L-BFGS-B", options={"maxiter": rounds})
    return _cut(found.x)


def right(tables: Tables, data: Batch) -> float:
    """Share of voicings whose likeliest root and family are true."""
    chances = decoded(data, weights_of(tables), to_truth=False).chances @ family_of_role()
    real = data.truth >= 0
    return float((chances.argmax(axis=2) == data.truth)[real].mean())


def played(play: Callable[[list[tuple[int, str]], random.Random], list[Played]]) -> list:
    """Every tuning form, each in one drawn key."""
    rng = random.Random(SEED)
    return [play(form(text, up=rng.randrange(12)), rng) for text in TUNING_FORMS]


def main() -> None:
    """Fit and write, or show how held-out forms fare."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--held-out", action="store_true", help="fit without every fourth form")
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    arguments = parser.parse_args()
    shells, stacks = played(guide_tone_shells), played(voiced)
    made = generated_takes(TUNING_SEEDS[:3], GENERATED)
    if not arguments.held_out:
        tables = fit(batch([*shells, *stacks, *made]), arguments.rounds)
        write_text(PATH, written(tables))
        return
    kept = [i for i in range(len(TUNING_FORMS)) if i % HELD_OUT]
    rest = batch([*(shells[i] for i in kept), *(stacks[i] for i in kept), *made])
    tables = fit(rest, arguments.rounds)
    for name, takes in (("two-note shells", shells), ("stacks", stacks)):
        data = batch(takes[::HELD_OUT])
        print(f"{name}, held out: {right(empty(), data):.3f} -> {right(tables, data):.3f}")


if __name__ == "__main__":
    main()
