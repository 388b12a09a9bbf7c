"""Chords in context: posterior chances of every chord and key over a sequence.

A chain over hidden states: a way with roots (`theory.labelling.root_ways`), a key (24) and a chord
(108: root x role). The first chord weighs `start`. From one attack to the next the chord stays,
with a weight given per step, or changes; a change weighs

    follow(chord -> next) * moves(key -> key) * in_key(next)             in the same key
    follow(chord -> next) * moves(key -> next key) * in_key(next)        into another key

Each weight is a table of `theory.labelling.progress_prior`, set by hand. The way goes on or
changes by itself. Weights are renewed over whole sequences, not state by state (a conditional
random field): renewing them after every chord would favour chords that lie outside the key, since
those have few ways to go on.

Posterior decoding (forward and backward passes), not the best path alone: its chances are
what the confidences are made of. A step may also carry a parallel move: an exact
transposition of the stack before, which makes the same move of the same role likely.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from stackline.theory.labelling.likelihood import N_ROLES
from stackline.theory.labelling.progress_prior import follow_table, key_moves, key_table
from stackline.theory.labelling.root_ways import N_WAYS, START, way_moves
from stackline.theory.labelling.step_scores import N_CHORDS

N_KEYS = 24
FOLLOW, KEY = 1.1, 0.8  # weights of how chords follow, and of the key (ours)
PARALLEL_SHARE = 0.5  # of a change, where the stack was moved as it is (ours)
BLOCK = 2048  # steps whose beliefs are kept at once, 64 MB; longer takes are gone over twice


@dataclass(frozen=True, kw_only=True, eq=False)
class Posterior:
    """Arrays chords (n, 108), keys (n, 24) and ways (n, n_ways), each row summing to 1.

    past: chords (n, 108) by what was heard up to each step, without what follows.
    evidence: log of the summed weight of all paths.
    """

    chords: np.ndarray
    past: np.ndarray
    keys: np.ndarray
    ways: np.ndarray
    evidence: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Weights:
    """What a step of the chain weighs, float32, all above 0.

    follow (108, 108); in_key (24, 108); moves (24, 24); ways (n_ways, n_ways), first (n_ways,).
    """

    follow: np.ndarray
    in_key: np.ndarray
    moves: np.ndarray
    ways: np.ndarray
    first: np.ndarray

    @property
    def start(self) -> np.ndarray:
        """Shares of the first step: (n_ways, 24, 108)."""
        keyed = self.in_key / self.in_key.sum()
        shares: np.ndarray = self.first[:, None, None] * keyed
        return shares


@cache
def change_weights() -> Weights:
    """The weights in use. A change weighs one on the whole, beside staying."""
    follow = follow_table() ** FOLLOW
    in_key = key_table() ** KEY
    scale = 1.0 / float((in_key @ follow.T).mean())
    return Weights(
        follow=(scale * follow).astype(np.float32),
        in_key=in_key.astype(np.float32),
        moves=key_moves().astype(np.float32),
        ways=way_moves().astype(np.float32),
        first=np.array(START, np.float32),
    )


def _change(belief: np.ndarray, weights: Weights) -> np.ndarray:
    """Move a belief (ways, 24, 108) forward over a change of chord."""
    led = (belief.reshape(-1, N_CHORDS) @ weights.follow).reshape(belief.shape)
    return (weights.moves.T @ led) * weights.in_key


def _change_back(later: np.ndarray, weights: Weights) -> np.ndarray:
    """Carry a likelihood (ways, 24, 108) of what follows back over a change of chord."""
    reached = weights.moves @ (weights.in_key * later)
    return (reached.reshape(-1, N_CHORDS) @ weights.follow.T).reshape(later.shape)


def _other_ways(belief: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """Let the way go on or change: belief (ways, 24, 108)."""
    return (ways @ belief.reshape(N_WAYS, -1)).reshape(belief.shape)


def _shifted(belief: np.ndarray, semitones: int) -> np.ndarray:
    """The same chords a number of semitones up (keys and ways as they are)."""
    parts = belief.reshape(N_WAYS, N_KEYS, 12, N_ROLES)
    return np.roll(parts, semitones, axis=2).reshape(belief.shape)


def _mixed(same: np.ndarray, changed: np.ndarray, stay: float, move: int | None) -> np.ndarray:
    """A chord that stays, one that changes, and one that moves in parallel, by their shares."""
    if move is not None:
        changed = (1 - PARALLEL_SHARE) * changed + PARALLEL_SHARE * _shifted(same, move)
    return stay * same + (1 - stay) * changed


class _Chain:
    """One sequence while it is decoded."""

    def __init__(
        self, scores: np.ndarray, stays: np.ndarray, parallels: Sequence[int | None]
    ) -> None:
        self.tops = scores.max(axis=(1, 2), keepdims=True)
        self.heard = np.exp(scores - self.tops).astype(np.float32)[:, :, None, :]
        self.stays, self.parallels = stays.astype(np.float32), parallels
        self.weights = change_weights()

    def forward(self, i: int, before: np.ndarray | None) -> tuple[np.ndarray, float]:
        """The belief at step i from the one before, and the weight that it had."""
        if before is None:
            belief = self.weights.start
        else:
            changed = _change(before, self.weights)
            belief = _mixed(before, changed, self.stays[i], self.parallels[i])
            belief = _other_ways(belief, self.weights.ways.T)
        belief = belief * self.heard[i]
        total = float(belief.sum())
        belief /= total
        return belief, total

    def backward(self, i: int, later: np.ndarray) -> np.ndarray:
        """The likelihood of all that follows step i - 1, from that of what follows step i."""
        later = _other_ways(later * self.heard[i], self.weights.ways)
        move = self.parallels[i]
        changed = _change_back(later, self.weights)
        later = _mixed(later, changed, self.stays[i], None if move is None else -move)
        later /= later.max()
        return later

    def starts(self) -> tuple[list[np.ndarray | None], float]:
        """The belief before each block of BLOCK steps, and the evidence of all steps."""
        n = len(self.heard)
        found: list[np.ndarray | None] = []
        belief, evidence = None, float(self.tops.sum())
        for i in range(n):
            if i % BLOCK == 0:
                found.append(belief)
            belief, total = self.forward(i, belief)
            evidence += float(np.log(total))
        return found, evidence

    def block(self, first: int, end: int, before: np.ndarray | None) -> tuple[np.ndarray, float]:
        """The beliefs of steps first..end - 1: (steps, ways, 24, 108), and their evidence."""
        beliefs = np.empty((end - first, N_WAYS, N_KEYS, N_CHORDS), np.float32)
        evidence = float(self.tops[first:end].sum())
        for i in range(first, end):
            before, total = self.forward(i, before)
            beliefs[i - first] = before
            evidence += float(np.log(total))
        return beliefs, evidence


def decode(scores: np.ndarray, stays: np.ndarray, parallels: Sequence[int | None]) -> Posterior:
    """Posterior chances of chords, keys and ways with roots.

    scores: (n, n_ways, 108) log-likelihoods of what was heard. stays: (n,) chance that the chord
    is still the one of the step before (stays[0] is ignored). parallels: per step, the
    semitones of an exact transposition from the step before, or None.
    """
    n = len(scores)
    chain = _Chain(scores, stays, parallels)
    starts, evidence = chain.starts() if n > BLOCK else ([None], 0.0)
    chords, keys, ways = np.empty((n, N_CHORDS)), np.empty((n, N_KEYS)), np.empty((n, N_WAYS))
    past = np.empty((n, N_CHORDS))
    later = np.ones((N_WAYS, N_KEYS, N_CHORDS), np.float32)
    for number in range(len(starts) - 1, -1, -1):
        first, end = number * BLOCK, min((number + 1) * BLOCK, n)
        beliefs, weight = chain.block(first, end, starts[number])
        evidence = evidence if n > BLOCK else weight
        known = beliefs.sum(axis=(1, 2))
        past[first:end] = known / known.sum(axis=1, keepdims=True)
        for i in range(end - 1, first - 1, -1):
            both = beliefs[i - first] * later
            both /= both.sum()
            chords[i], keys[i] = both.sum(axis=(0, 1)), both.sum(axis=(0, 2))
            ways[i] = both.sum(axis=(1, 2))
            if i:
                later = chain.backward(i, later)
    return Posterior(chords=chords, past=past, keys=keys, ways=ways, evidence=evidence)
