"""How a passage treats roots: a hidden way that the labeller learns as it goes.

A pianist with a bass player leaves roots out, one who plays alone puts them at the bottom, block
chords and free voicings have them anywhere. One stack seldom says which it is; a passage does.
So each step has a hidden way, mostly that of the step before, and a way says how often the
root lies lowest, inside, or does not sound: the chances of `theory.labelling.likelihood` given
where the root is, times these shares. Shares are set by hand from common practice; roles whose
usual stacks have a root even among rootless ones (half-diminished, diminished) have their own.

A stack of two pitch classes is asked nothing of this kind: it is a shell. A plain triad in
inversion has its root in it whatever its neighbours do.
"""

from dataclasses import dataclass, field
from functools import cache

import numpy as np

from stackline.theory.labelling.likelihood import (
    N_ROLES,
    N_SETS,
    ROLES,
    intervals_of_sets,
    lowest_weights,
    pair_scores,
    set_scores,
)

LOWEST, INSIDE, ABSENT = range(3)  # where the root of a reading is
Shares = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class Way:
    """A way with roots: shares of lowest, inside, absent; by role where they differ.

    order: how much the usual order of the notes counts, 1 in full (a free voicing may have any
    note of the chord at the bottom). free: whether any tensions stand together.
    """

    name: str
    shares: Shares
    by_role: dict[str, Shares] = field(default_factory=dict)
    order: float = 1.0
    free: bool = False


WAYS = (
    Way(
        name="rootless", shares=(0.05, 0.07, 0.88),
        by_role={
            "half-diminished": (0.25, 0.45, 0.30), "diminished": (0.40, 0.55, 0.05),
            "altered": (0.05, 0.15, 0.80),  # its upper structures hold the root
        },
    ),
    Way(
        name="rooted", shares=(0.93, 0.04, 0.03), by_role={"diminished": (0.90, 0.08, 0.02)},
    ),
    Way(
        name="anywhere", shares=(0.20, 0.30, 0.50), order=0.5,
        by_role={"half-diminished": (0.30, 0.55, 0.15), "diminished": (0.35, 0.62, 0.03)},
    ),
    Way(
        name="free", shares=(0.15, 0.30, 0.55), order=0.2, free=True,
        by_role={"half-diminished": (0.20, 0.45, 0.35), "diminished": (0.25, 0.60, 0.15)},
    ),
)  # fmt: skip
N_WAYS = len(WAYS)
START = (0.41, 0.29, 0.24, 0.06)  # chances of the ways at the first attack (ours)
STAYS = 0.87  # the chance that the next stack is of the same way
DEEP_ROOT = 6.0  # how much likelier the root is lowest when that note lies deep and apart
FEWEST = 3  # pitch classes
INVERTED_TRIAD = 0.8  # the share of a root inside where nothing but its triad sounds, in every way


@cache
def way_moves() -> np.ndarray:
    """P(next way | way): float64 (n_ways, n_ways)."""
    moves = np.tile(START, (N_WAYS, 1))
    np.fill_diagonal(moves, 0.0)
    moves *= (1 - STAYS) / moves.sum(axis=1, keepdims=True)
    np.fill_diagonal(moves, STAYS)
    return moves


@cache
def root_shares() -> np.ndarray:
    """Log shares of where the root is: float64 (2, n_ways, 3, n_roles); second row: deep."""
    table = np.empty((2, N_WAYS, 3, N_ROLES))
    for number, way in enumerate(WAYS):
        for r, role in enumerate(ROLES):
            shares = np.array(way.by_role.get(role.name, way.shares))
            deep = shares * (DEEP_ROOT, 1, 1)
            table[0, number, :, r], table[1, number, :, r] = shares, deep / deep.sum()
    return np.log(table)


@cache
def _set_given_root(free: bool) -> np.ndarray:
    """Log P(set | role, whether the root sounds), sets of FEWEST and more: (n_roles, N_SETS)."""
    present = intervals_of_sets()
    scores = set_scores(free)
    chances = np.exp(scores) * (present.sum(axis=1) >= FEWEST)
    rooted = (chances * present[:, 0]).sum(axis=1) / chances.sum(axis=1)
    share = np.where(present[:, 0], rooted[:, None], 1 - rooted[:, None])
    return scores - np.log(share)


@cache
def _lowest_given_set(order: float, root_too: bool) -> np.ndarray:
    """Log P(lowest interval | set, role): (n_roles, N_SETS, 12).

    root_too: among all that sounds; else among what is not the root, and 0 where that is lowest.
    """
    weights = lowest_weights() ** order
    if not root_too:
        weights[:, 0] = 0.0
    shown = np.where(intervals_of_sets(), weights[:, None, :], 0.0)
    total = np.maximum(shown.sum(axis=2, keepdims=True), 1e-9)
    found = np.log(np.maximum(shown / total, 1e-4))
    if not root_too:
        found[:, :, 0] = 0.0
    return found


@cache
def plain_triads() -> np.ndarray:
    """Whether a set over a root is that root's triad: bool (n_roles, N_SETS)."""
    found = np.zeros((N_ROLES, N_SETS), bool)
    for r, role in enumerate(ROLES):
        if role.family in ("major", "minor"):
            third = 4 if role.family == "major" else 3
            found[r, 1 | 1 << third | 1 << 7] = True
    return found


def root_places(sets: np.ndarray, lowest: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """For each stack and each of 12 roots: the set over that root, the lowest interval, the place.

    sets: 12-bit numbers of pitch classes; lowest: the lowest note's pitch class. All (n, 12).
    """
    roots = np.arange(12)
    over = ((sets[:, None] >> roots) | (sets[:, None] << (12 - roots))) & (N_SETS - 1)
    intervals = (lowest[:, None] - roots) % 12
    places = np.where(intervals == 0, LOWEST, np.where(over & 1, INSIDE, ABSENT))
    return over, intervals, places


def stack_scores(sets: np.ndarray, lowest: np.ndarray, deep: np.ndarray) -> np.ndarray:
    """Log P(stack | way, root, role): float64 (n, n_ways, 12, n_roles).

    sets, lowest as for `root_places`; deep: whether the lowest note lies deep and apart.
    """
    over, intervals, places = root_places(sets, lowest)
    shares = root_shares()[deep.astype(int)]
    inverted = np.moveaxis(plain_triads()[:, over], 0, -1) & (places == INSIDE)[:, :, None]
    rows = np.empty((len(sets), N_WAYS, 12, N_ROLES))
    for number, way in enumerate(WAYS):
        order = np.moveaxis(_lowest_given_set(way.order, False)[:, over, intervals], 0, -1)
        placed = shares[np.arange(len(sets))[:, None], number, places]
        by_set = np.moveaxis(_set_given_root(way.free)[:, over], 0, -1)
        rows[:, number] = by_set + order + np.where(inverted, np.log(INVERTED_TRIAD), placed)
    thin = (intervals_of_sets().sum(axis=1) < FEWEST)[sets]
    plain = _lowest_given_set(1.0, True)[:, over[thin], intervals[thin]]
    rows[thin] = np.moveaxis(pair_scores()[:, over[thin]] + plain, 0, -1)[:, None]
    return rows
