"""How likely each set of notes is for each root and role: the tables of the labeller.

A role (finer than a family: an altered dominant resolves unlike a plain one) is a mixture of
colours, the ways it is played: a share, and for each interval over the root the chance that
it sounds (guide tones nearly always, avoid notes nearly never). Intervals that a colour doesn't
name sound with chance STRAY, which also covers wrong notes of the ear. Whether the root sounds,
and where, is the business of `theory.labelling.root_ways`. The numbers are set by hand from common
practice and checked on the sets to choose by of bench/naming/dressed_names.py; nothing is fitted.

Everything is a table over the 4096 pitch-class sets, made once: a thousand voicings are then
a thousand look-ups.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

STRAY = 0.01
KEPT = 0.96  # what is left of every chance: an ear may miss any note
N_SETS = 4096  # sets of pitch classes, 2 ** 12


@dataclass(frozen=True)
class Role:
    """What a chord does in a progression: finer than its family, which it belongs to."""

    name: str
    family: str
    prior: float


ROLES = (
    Role("major", "major", 0.25),
    Role("minor", "minor", 0.23),  # with a b7: ii, iii, vi, modal
    Role("tonic minor", "minor", 0.08),  # with a 6 or a major 7
    Role("dominant", "dominant", 0.22),
    Role("altered", "dominant", 0.12),  # with b9, #9 or b13
    Role("lydian dominant", "dominant", 0.03),  # with #11
    Role("suspended", "suspended", 0.06),
    Role("half-diminished", "half-diminished", 0.06),
    Role("diminished", "diminished", 0.035),
)
N_ROLES = len(ROLES)


@dataclass(frozen=True)
class Colour:
    """One way to play a role: its share, and chances by interval over the root."""

    share: float
    chances: dict[int, float]


COLOURS: dict[str, tuple[Colour, ...]] = {
    "dominant": (
        Colour(0.14, {4: 0.97, 10: 0.97, 0: 0.15}),
        Colour(0.46, {4: 0.97, 10: 0.96, 2: 0.75, 9: 0.8, 7: 0.25, 0: 0.08}),
        Colour(0.22, {4: 0.97, 10: 0.96, 2: 0.8, 7: 0.85, 9: 0.1, 0: 0.1}),
        Colour(0.18, {4: 0.95, 10: 0.93, 0: 0.96, 7: 0.75, 2: 0.15, 9: 0.15}),
    ),
    "altered": (
        Colour(0.14, {4: 0.97, 10: 0.97, 0: 0.1}),
        Colour(0.18, {4: 0.97, 10: 0.96, 1: 0.95, 9: 0.9, 7: 0.1, 0: 0.06}),
        Colour(0.14, {4: 0.97, 10: 0.96, 1: 0.97, 7: 0.9, 0: 0.1}),
        Colour(0.14, {4: 0.97, 10: 0.96, 1: 0.9, 8: 0.9, 6: 0.1, 0: 0.06}),
        Colour(0.14, {4: 0.97, 10: 0.96, 3: 0.95, 8: 0.9, 6: 0.1, 0: 0.06}),
        Colour(0.06, {4: 0.97, 10: 0.96, 3: 0.93, 8: 0.93, 0: 0.93}),
        Colour(0.10, {4: 0.97, 10: 0.96, 3: 0.96, 7: 0.6, 0: 0.2}),
        Colour(0.08, {4: 0.97, 10: 0.96, 2: 0.85, 8: 0.92, 0: 0.08}),
        Colour(0.02, {4: 0.97, 10: 0.96, 6: 0.95, 1: 0.5, 3: 0.4, 9: 0.3, 0: 0.1}),
    ),
    "lydian dominant": (
        Colour(1.0, {4: 0.97, 10: 0.96, 6: 0.95, 2: 0.65, 9: 0.6, 0: 0.1}),
    ),
    "suspended": (
        Colour(0.38, {5: 0.97, 10: 0.96, 2: 0.88, 7: 0.75, 0: 0.15}),
        Colour(0.22, {5: 0.97, 10: 0.96, 2: 0.88, 9: 0.93, 7: 0.15, 0: 0.15}),
        Colour(0.22, {0: 0.96, 5: 0.97, 10: 0.93, 7: 0.8, 2: 0.35}),
        Colour(0.08, {5: 0.97, 10: 0.97, 0: 0.15}),
        Colour(0.04, {5: 0.97, 10: 0.95, 1: 0.95, 7: 0.3, 9: 0.3, 0: 0.15}),
        Colour(0.03, {0: 0.96, 5: 0.97, 10: 0.95, 1: 0.95, 7: 0.7}),
        Colour(0.03, {0: 0.96, 5: 0.96, 7: 0.9}),
    ),
    "minor": (
        Colour(0.12, {3: 0.97, 10: 0.97, 0: 0.15}),
        Colour(0.41, {3: 0.97, 10: 0.96, 7: 0.85, 2: 0.78, 0: 0.06}),
        Colour(0.10, {3: 0.93, 10: 0.92, 5: 0.95, 2: 0.6, 7: 0.4, 0: 0.3}),
        Colour(0.10, {0: 0.96, 5: 0.96, 10: 0.95, 3: 0.72, 7: 0.5}),
        Colour(0.18, {3: 0.96, 10: 0.95, 0: 0.97, 7: 0.85, 2: 0.15}),
        Colour(0.02, {3: 0.96, 10: 0.9, 9: 0.9, 2: 0.6, 7: 0.3, 0: 0.15}),
        Colour(0.07, {3: 0.97, 7: 0.95, 0: 0.96, 2: 0.1}),
    ),
    "tonic minor": (
        Colour(0.34, {3: 0.97, 9: 0.96, 2: 0.85, 7: 0.8, 0: 0.1}),
        Colour(0.20, {3: 0.97, 11: 0.96, 7: 0.8, 2: 0.7, 0: 0.2}),
        Colour(0.20, {3: 0.96, 9: 0.95, 0: 0.97, 7: 0.8}),
        Colour(0.04, {3: 0.95, 9: 0.9, 5: 0.9, 2: 0.8, 7: 0.8, 0: 0.7}),
        Colour(0.20, {3: 0.97, 9: 0.96, 0: 0.15}),
        Colour(0.02, {0: 0.95, 5: 0.95, 2: 0.95, 7: 0.95, 9: 0.95}),
    ),
    "major": (
        Colour(0.08, {4: 0.97, 11: 0.97, 0: 0.15}),
        Colour(0.05, {4: 0.97, 9: 0.97, 0: 0.15}),
        Colour(0.27, {4: 0.97, 11: 0.96, 7: 0.82, 2: 0.8, 9: 0.06, 0: 0.06}),
        Colour(0.07, {4: 0.97, 11: 0.95, 9: 0.93, 2: 0.8, 7: 0.3, 0: 0.06}),
        Colour(0.12, {4: 0.97, 9: 0.96, 2: 0.9, 7: 0.85, 0: 0.08}),
        Colour(0.05, {4: 0.97, 9: 0.96, 2: 0.95, 7: 0.85, 0: 0.9}),
        Colour(0.12, {4: 0.96, 11: 0.95, 0: 0.97, 7: 0.75, 2: 0.1}),
        Colour(0.07, {4: 0.96, 9: 0.95, 0: 0.97, 7: 0.8}),
        Colour(0.06, {4: 0.95, 11: 0.94, 6: 0.95, 2: 0.7, 7: 0.3, 9: 0.4, 0: 0.06}),
        Colour(0.10, {4: 0.97, 7: 0.95, 0: 0.96, 2: 0.1}),
        Colour(0.01, {4: 0.96, 8: 0.95, 11: 0.8, 0: 0.6}),
    ),
    "half-diminished": (
        Colour(0.52, {3: 0.96, 6: 0.96, 10: 0.96, 0: 0.92}),
        Colour(0.28, {3: 0.95, 6: 0.95, 10: 0.95, 2: 0.5, 5: 0.5, 0: 0.12}),
        Colour(0.2, {3: 0.97, 10: 0.97, 6: 0.1, 0: 0.15}),
    ),
    "diminished": (
        Colour(0.92, {0: 0.93, 3: 0.95, 6: 0.95, 9: 0.93, 2: 0.05, 11: 0.05}),
        Colour(0.08, {3: 0.97, 9: 0.97, 0: 0.15, 6: 0.2}),
    ),
}  # fmt: skip

# Two pitch classes are a shell: which two say what a role is. How often a role is played so
# says nothing, since a passage of shells plays every chord so.
PAIRS: dict[str, dict[tuple[int, int], float]] = {
    "major": {(4, 11): 0.70, (4, 9): 0.25, (4, 8): 0.03, (0, 7): 0.02},
    "minor": {(3, 10): 1.0},
    "tonic minor": {(3, 9): 0.8, (3, 11): 0.2},
    "dominant": {(4, 10): 1.0},
    "altered": {(4, 10): 1.0},
    "lydian dominant": {(4, 10): 1.0},
    "suspended": {(5, 10): 1.0},
    "half-diminished": {(3, 10): 1.0},
    "diminished": {(3, 9): 0.8, (0, 6): 0.2},
}  # fmt: skip
PAIRED = 0.9  # of two pitch classes that are one of these

# A free voicing holds the guide tones and any of the rest: no colour goes with another.
FREE: dict[str, tuple[Colour, ...]] = {
    "dominant": (Colour(1.0, {4: 0.97, 10: 0.97, 2: 0.5, 9: 0.5, 7: 0.4, 0: 0.35}),),
    "altered": (
        Colour(1.0, {4: 0.97, 10: 0.97, 1: 0.4, 3: 0.4, 8: 0.5, 6: 0.25, 9: 0.15, 7: 0.15, 0: 0.3}),
    ),
    "lydian dominant": (Colour(1.0, {4: 0.97, 10: 0.97, 6: 0.97, 2: 0.5, 9: 0.5, 0: 0.3}),),
    "suspended": (Colour(1.0, {5: 0.97, 10: 0.97, 2: 0.5, 7: 0.45, 9: 0.4, 0: 0.4}),),
    "minor": (Colour(1.0, {3: 0.97, 10: 0.97, 7: 0.5, 2: 0.5, 5: 0.4, 0: 0.4}),),
    "tonic minor": (
        Colour(0.7, {3: 0.97, 9: 0.97, 7: 0.5, 2: 0.5, 0: 0.4, 5: 0.2}),
        Colour(0.3, {3: 0.97, 11: 0.97, 7: 0.5, 2: 0.5, 0: 0.4}),
    ),
    "major": (
        Colour(0.7, {4: 0.97, 11: 0.97, 7: 0.5, 2: 0.5, 9: 0.3, 0: 0.3, 6: 0.15}),
        Colour(0.25, {4: 0.97, 9: 0.97, 7: 0.5, 2: 0.5, 0: 0.4}),
        Colour(0.05, {4: 0.97, 0: 0.93, 7: 0.83}),
    ),
    "half-diminished": (Colour(1.0, {3: 0.97, 10: 0.97, 6: 0.8, 5: 0.4, 0: 0.5, 2: 0.15}),),
    "diminished": (Colour(1.0, {3: 0.97, 9: 0.97, 0: 0.8, 6: 0.8, 2: 0.05, 11: 0.05}),),
}  # fmt: skip

# Which sounding interval lies lowest: relative weights by role, renewed over those that sound.
LOWEST: dict[str, dict[int, float]] = {
    "dominant": {4: 4, 10: 4, 0: 3, 7: 0.6, 9: 0.3, 2: 0.3},
    "altered": {4: 4, 10: 4, 0: 2, 7: 0.4, 9: 0.3, 2: 0.3, 1: 0.15, 3: 0.15, 6: 0.2, 8: 0.3},
    "lydian dominant": {4: 4, 10: 4, 0: 3, 9: 0.3, 2: 0.3, 6: 0.2},
    "suspended": {5: 4, 10: 4, 0: 4, 7: 1.0, 2: 0.6, 9: 0.4, 1: 0.3},
    "minor": {3: 4, 10: 4, 0: 4, 7: 0.9, 9: 0.3, 2: 0.4, 5: 0.4},
    "tonic minor": {3: 4, 9: 4, 11: 3, 0: 3, 7: 0.9, 2: 0.6},
    "major": {4: 4, 11: 4, 0: 4, 7: 1.5, 9: 2.5, 2: 0.4, 6: 0.3},
    "half-diminished": {3: 4, 10: 4, 0: 5, 6: 3, 2: 0.5, 5: 0.5},
    "diminished": {0: 4, 3: 3, 6: 3, 9: 3},
}
LOWEST_OTHER = 0.1  # weight of any other interval
# Chance of a lone bass note, semitones above the root; by hand, common practice.
BASS: dict[int, float] = {0: 0.80, 7: 0.08, 4: 0.02, 3: 0.02, 10: 0.015, 5: 0.015, 11: 0.01}
BASS_OTHER = 0.006  # chance of any other
MELODY_TONE, MELODY_OTHER = 0.11, 0.03  # a lone high note: in the chord's scale or not


def intervals_of_sets() -> np.ndarray:
    """Bool (4096, 12): which pitch classes each set holds; bit p is pitch class p."""
    return (np.arange(N_SETS)[:, None] >> np.arange(12)) & 1 == 1


@cache
def set_scores(free: bool = False) -> np.ndarray:
    """Log P(set | root C, role), float64 (n_roles, 4096); free: of a free voicing."""
    present = intervals_of_sets()
    rows = []
    for role in ROLES:
        parts = []
        for colour in (FREE if free else COLOURS)[role.name]:
            chance = np.full(12, STRAY)
            chance[list(colour.chances)] = KEPT * np.array(list(colour.chances.values()))
            bits = np.where(present, np.log(chance), np.log1p(-chance))
            parts.append(np.log(colour.share) + bits.sum(axis=1))
        rows.append(np.logaddexp.reduce(np.array(parts), axis=0))
    return np.array(rows)


@cache
def pair_scores() -> np.ndarray:
    """Log P(two pitch classes | root C, role, that there are two): float64 (n_roles, 4096)."""
    chances = np.exp(set_scores()) * (intervals_of_sets().sum(axis=1) <= 2)
    chances *= (1 - PAIRED) / chances.sum(axis=1, keepdims=True)
    for row, role in zip(chances, ROLES, strict=True):
        for (low, high), share in PAIRS[role.name].items():
            row[1 << low | 1 << high] += PAIRED * share
    return np.log(np.maximum(chances, 1e-12))


def lowest_weights() -> np.ndarray:
    """How readily each interval lies lowest, by role, relative: float64 (n_roles, 12)."""
    rows = np.full((N_ROLES, 12), LOWEST_OTHER)
    for row, role in zip(rows, ROLES, strict=True):
        row[list(LOWEST[role.name])] = list(LOWEST[role.name].values())
    return rows


@cache
def bass_scores() -> np.ndarray:
    """Log P(lone bass note | root, role), float64 (notes, roots, roles): 12, 12, 9."""
    chance = np.full(12, BASS_OTHER)
    chance[list(BASS)] = list(BASS.values())
    chance /= chance.sum()
    table = np.empty((12, 12, N_ROLES))
    for note in range(12):
        for root in range(12):
            table[note, root, :] = np.log(chance[(note - root) % 12])
    return table


_SCALES = {
    "major": (0, 2, 4, 6, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 9, 10),
    "dominant": (0, 2, 4, 7, 9, 10), "suspended": (0, 2, 5, 7, 9, 10),
    "half-diminished": (0, 3, 5, 6, 8, 10), "diminished": (0, 2, 3, 6, 9, 11),
}  # fmt: skip


@cache
def melody_scores() -> np.ndarray:
    """Log P(lone high note | root, role), float64 (notes, roots, roles): 12, 12, 9."""
    table = np.empty((12, 12, N_ROLES))
    for r, role in enumerate(ROLES):
        chance = np.full(12, MELODY_OTHER)
        chance[list(_SCALES[role.family])] = MELODY_TONE
        chance /= chance.sum()
        for note in range(12):
            table[note, :, r] = np.log(chance[(note - np.arange(12)) % 12])
    return table


def log_role_prior() -> np.ndarray:
    """Log P(role), float64 (n_roles,)."""
    return np.log(np.array([role.prior for role in ROLES]))
