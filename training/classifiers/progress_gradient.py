"""The chain of `context` as a conditional random field: log chance of the truth, gradient.

    log weight of all paths through the true chords - log weight of all paths

True chords are known by root and family; roles and keys stay hidden. The gradient by a weight's
logarithm is the difference of its expected uses. Takes are padded and decoded side by side. Each
step looks at the `KEPT` chords that its notes make likeliest, and at the true ones: against all
108 the log chance then moves by one part in five thousand, and the work falls to an eighth.
Parallel moves are left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bench.labels import state_of, steps_of
from fixtures.played.progressions import Played
from stackline.theory.labelling.context import N_CHORDS, N_KEYS, Weights, prior_weights
from stackline.theory.labelling.labeller import family_of_role, note_scores, stay_chances
from stackline.theory.labelling.progress_fit import SHAPES, cells

KEPT = 32
TRUE = 3  # most roles of one root and family
LIKE_LONG = 40  # takes side by side, of like lengths
Tables = dict[str, np.ndarray]


@dataclass(frozen=True, kw_only=True, eq=False)
class Batch:
    """Takes side by side: T steps of B takes, K chords in each, short takes padded.

    states (T, B, K): which chords; heard (T, B, K): likelihoods of the notes, float32; stays
    (T, B); truth (T, B): family states, -1 in the padding, where nothing is heard and every
    chord stays; weight (B,): what each take counts.
    """

    states: np.ndarray
    heard: np.ndarray
    stays: np.ndarray
    truth: np.ndarray
    weight: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class Pair:
    """The same takes with the likeliest chords, and with the true ones alone."""

    free: Batch
    true: Batch


def batches(takes: Sequence[Sequence[Played]], weights: Sequence[float]) -> list[Pair]:
    """Score the notes of takes once; takes of like lengths stand side by side."""
    order = sorted(range(len(takes)), key=lambda i: len(takes[i]))
    cuts = [order[i : i + LIKE_LONG] for i in range(0, len(order), LIKE_LONG)]
    return [_pair([takes[i] for i in cut], [weights[i] for i in cut]) for cut in cuts]


def _pair(takes: Sequence[Sequence[Played]], weights: Sequence[float]) -> Pair:
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

    def narrowed(likely: np.ndarray, count: int) -> Batch:
        states = np.argsort(-(heard * likely + 2 * allowed), axis=2, kind="stable")[..., :count]
        for b, played in enumerate(takes):
            states[len(played) :, b] = states[len(played) - 1, b]
        return Batch(
            states=states, heard=np.take_along_axis(heard * likely, states, axis=2),
            stays=stays, truth=truth, weight=np.array(weights, dtype=np.float32),
        )  # fmt: skip

    return Pair(free=narrowed(np.ones_like(heard), KEPT), true=narrowed(allowed, TRUE))


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


@dataclass(frozen=True, kw_only=True, eq=False)
class Step:
    """The weights that one change of chord may take.

    follow and same (B, K, K); in_key and entry (B, 24, K); stay (B, 1, 1); weights: all.
    """

    follow: np.ndarray
    same: np.ndarray
    in_key: np.ndarray
    entry: np.ndarray
    stay: np.ndarray
    weights: Weights


def _step(data: Batch, i: int, weights: Weights) -> Step:
    """What leads from step i - 1 to step i."""
    before, now = data.states[i - 1][:, :, None], data.states[i][:, None, :]
    return Step(
        follow=weights.follow[before, now],
        same=(before == now).astype(np.float32),
        in_key=weights.in_key[:, data.states[i]].transpose(1, 0, 2),
        entry=weights.entry[:, data.states[i]].transpose(1, 0, 2),
        stay=data.stays[i][:, None, None],
        weights=weights,
    )


def decoded(data: Batch, weights: Weights) -> Decoded:
    """Both passes over a batch, along its own chords only."""
    beliefs, evidence = _forward(data, weights)
    uses = {name: np.zeros(int(np.prod(shape))) for name, shape in SHAPES.items()}
    chances = np.zeros((*data.truth.shape, N_CHORDS), dtype=np.float32)
    later = np.ones(beliefs.shape[1:], dtype=np.float32)
    for i in range(len(beliefs) - 1, -1, -1):
        both = beliefs[i] * later
        both /= both.sum(axis=(1, 2), keepdims=True)
        np.put_along_axis(chances[i], data.states[i], both.sum(axis=1), axis=1)
        if not i:
            weighed = both * data.weight[:, None, None]
            _add(uses, "start", _cells_in_keys("start", data.states[0]), weighed)
            break
        later = later * data.heard[i][:, None, :]
        later = _back(beliefs[i - 1], later, data, i, _step(data, i, weights), uses)
    return Decoded(evidence=evidence, uses=uses, chances=chances)


def _forward(data: Batch, weights: Weights) -> tuple[np.ndarray, np.ndarray]:
    """Beliefs (T, B, 24, K) after each step, and the log weight of all paths (B,)."""
    n, takes, kept = data.heard.shape
    beliefs = np.empty((n, takes, N_KEYS, kept), dtype=np.float32)
    evidence = np.zeros(takes)
    now = weights.start[:, data.states[0]].transpose(1, 0, 2)
    for i in range(n):
        if i:
            step = _step(data, i, weights)
            led = beliefs[i - 1] @ step.follow
            changed = weights.stays * led * step.in_key
            changed += np.matmul(weights.leaves.T, led) * step.entry
            now = step.stay * (beliefs[i - 1] @ step.same) + (1 - step.stay) * changed
        now = now * data.heard[i][:, None, :]
        total = now.sum(axis=(1, 2))
        evidence += np.log(total)
        beliefs[i] = now / total[:, None, None]
    return beliefs, evidence


def _cells_in_keys(name: str, states: np.ndarray) -> np.ndarray:
    """Cells of a table of keys that chords (B, K) take: (B, 24, K)."""
    return cells(name)[:, states].transpose(1, 0, 2)


def _add(uses: Tables, name: str, where: np.ndarray, count: np.ndarray) -> None:
    """Fold uses into those of their cells."""
    uses[name] += np.bincount(where.ravel(), count.ravel(), len(uses[name]))


def _back(
    before: np.ndarray, later: np.ndarray, data: Batch, i: int, step: Step, uses: Tables
) -> np.ndarray:
    """Carry `later` back over one step, and count what the step uses."""
    stays, leaves, now = step.weights.stays, step.weights.leaves, data.states[i]
    entered = step.entry * later
    reached = stays * step.in_key * later + np.matmul(leaves, entered)
    changed = reached @ step.follow.transpose(0, 2, 1)
    carried = step.stay * (later @ step.same.transpose(0, 2, 1)) + (1 - step.stay) * changed
    share = (1 - step.stay) / (before * carried).sum(axis=(1, 2), keepdims=True)
    from_ = before * share * data.weight[:, None, None]
    where = cells("follow")[data.states[i - 1][:, :, None], now[:, None, :]]
    _add(uses, "follow", where, (from_.transpose(0, 2, 1) @ reached) * step.follow)
    led = from_ @ step.follow
    kept = stays * led * step.in_key * later
    _add(uses, "in_key", _cells_in_keys("in_key", now), kept)
    _add(uses, "entry", _cells_in_keys("entry", now), np.matmul(leaves.T, led) * entered)
    moved = leaves * np.einsum("bkd,bqd->kq", led, entered, optimize=True)
    _add(uses, "moves", cells("moves"), moved + np.diag(kept.sum(axis=(0, 2))))
    return carried / carried.max(axis=(1, 2), keepdims=True)


def empty() -> Tables:
    """No corrections."""
    return {name: np.zeros(int(np.prod(shape))) for name, shape in SHAPES.items()}


def gain(tables: Tables, data: Sequence[Pair]) -> tuple[float, Tables]:
    """The log chance of the truth, and its gradient."""
    weights, worth, gradient = weights_of(tables), 0.0, empty()
    for pair in data:
        truth, free = decoded(pair.true, weights), decoded(pair.free, weights)
        worth += float((truth.evidence - free.evidence) @ pair.free.weight)
        for name in SHAPES:
            gradient[name] += truth.uses[name] - free.uses[name]
    return worth, gradient
