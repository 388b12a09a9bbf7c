"""Chords in context: posterior chances of every chord and key over a sequence.

A chain over hidden states: a chord (108: root x role) in a key (24). The first chord weighs
`start`. From one attack to the next the chord stays, with a weight given per step, or
changes; a change weighs

    follow(chord -> next) * moves(key -> key) * in_key(next)             in the same key
    follow(chord -> next) * moves(key -> next key) * entry(next)         into another key

Each weight is a table of `progress_prior`, set by hand, times what was fitted to it
(`progress_fit`). `entry` is apart from `in_key` because a new key is mostly entered by
its ii or V, and less often by the chords that it may otherwise hold.

Weights are renewed over whole sequences, not state by state (a conditional random field):
renewing them after every chord would favour chords that lie outside the key, since those
have few ways to go on.

Posterior decoding (forward and backward passes), not the best path alone: its chances are
what the confidences are made of. A step may also carry a parallel move: an exact
transposition of the stack before, which makes the same move of the same role likely.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from stackline.theory.labelling.likelihood import N_ROLES
from stackline.theory.labelling.progress_fit import fitted
from stackline.theory.labelling.progress_prior import follow_table, key_moves, key_table

N_CHORDS = 12 * N_ROLES
N_KEYS = 24
FOLLOW, KEY = 1.1, 0.8
PARALLEL_SHARE = 0.5


@dataclass(frozen=True, kw_only=True, eq=False)
class Posterior:
    """Arrays chords (n, 108) and keys (n, 24), each row summing to 1.

    evidence: log of the summed weight of all paths.
    """

    chords: np.ndarray
    keys: np.ndarray
    evidence: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Weights:
    """What a step of the chain weighs, float64, all above 0.

    follow (108, 108); in_key, entry and start (24, 108); moves (24, 24).
    """

    follow: np.ndarray
    in_key: np.ndarray
    entry: np.ndarray
    start: np.ndarray
    moves: np.ndarray

    @property
    def stays(self) -> np.ndarray:
        """Weights of keeping the key: (24, 1)."""
        return np.diag(self.moves)[:, None]

    @property
    def leaves(self) -> np.ndarray:
        """Weights of going to another key: (24, 24), 0 on the diagonal."""
        return self.moves - np.diag(np.diag(self.moves))


def prior_weights() -> Weights:
    """The hand-set tables alone. A change weighs one on the whole, beside staying."""
    follow = follow_table() ** FOLLOW
    in_key = key_table() ** KEY
    scale = 1.0 / float((in_key @ follow.T).mean())
    return Weights(
        follow=scale * follow, in_key=in_key, entry=in_key, start=in_key, moves=key_moves()
    )


@cache
def change_weights() -> Weights:
    """The weights in use: the hand-set ones times the fitted ones."""
    prior = prior_weights()
    return Weights(
        follow=prior.follow * np.exp(fitted("follow")),
        in_key=prior.in_key * np.exp(fitted("in_key")),
        entry=prior.entry * np.exp(fitted("entry")),
        start=prior.start * np.exp(fitted("start")),
        moves=prior.moves * np.exp(fitted("moves")),
    )


def _change(belief: np.ndarray, weights: Weights) -> np.ndarray:
    """Move a belief (24, 108) forward over a change of chord."""
    led = belief @ weights.follow
    stayed: np.ndarray = weights.stays * led * weights.in_key
    return stayed + (weights.leaves.T @ led) * weights.entry


def _change_back(later: np.ndarray, weights: Weights) -> np.ndarray:
    """Carry a likelihood (24, 108) of what follows back over a change of chord."""
    reached = weights.stays * weights.in_key * later + weights.leaves @ (weights.entry * later)
    found: np.ndarray = reached @ weights.follow.T
    return found


def _shifted(belief: np.ndarray, semitones: int) -> np.ndarray:
    """The same chords a number of semitones up (keys as they are)."""
    parts = belief.reshape(N_KEYS, 12, N_ROLES)
    return np.roll(parts, semitones, axis=1).reshape(N_KEYS, N_CHORDS)


def decode(
    scores: np.ndarray,
    stays: np.ndarray,
    parallels: Sequence[int | None],
    weights: Weights | None = None,
) -> Posterior:
    """Posterior chances of chords and keys.

    scores: (n, 108) log-likelihoods of what was heard. stays: (n,) chance that the chord is
    still the one of the step before (stays[0] is ignored). parallels: per step, the
    semitones of an exact transposition from the step before, or None. weights: those in
    use if left out.
    """
    n = len(scores)
    weights = weights or change_weights()
    tops = scores.max(axis=1, keepdims=True)
    heard = np.exp(scores - tops)
    forward = np.empty((n, N_KEYS, N_CHORDS), np.float32)  # two hours of chords are many
    evidence = float(tops.sum())
    belief = weights.start / weights.start.sum()
    for i in range(n):
        if i:
            changed = _change(forward[i - 1], weights)
            belief = _mixed(forward[i - 1], changed, stays[i], parallels[i])
        belief = belief * heard[i]
        total = belief.sum()
        evidence += float(np.log(total))
        belief = forward[i] = belief / total
    chords, keys = np.empty((n, N_CHORDS)), np.empty((n, N_KEYS))
    later = np.ones((N_KEYS, N_CHORDS))
    for i in range(n - 1, -1, -1):
        both = forward[i] * later
        both /= both.sum()
        chords[i], keys[i] = both.sum(axis=0), both.sum(axis=1)
        if i:
            later = later * heard[i]
            move = parallels[i]
            changed = _change_back(later, weights)
            later = _mixed(later, changed, stays[i], None if move is None else -move)
            later /= later.max()
    return Posterior(chords=chords, keys=keys, evidence=evidence)


def _mixed(same: np.ndarray, changed: np.ndarray, stay: float, move: int | None) -> np.ndarray:
    """A chord that stays, one that changes, and one that moves in parallel, by their shares."""
    if move is not None:
        changed = (1 - PARALLEL_SHARE) * changed + PARALLEL_SHARE * _shifted(same, move)
    return stay * same + (1 - stay) * changed
