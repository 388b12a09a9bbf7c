"""How chords follow each other, and which chords a key holds: the labeller's second table.

Root motion in real changes (Weimar Jazz Database lead sheets, ODbL; shares computed from
them): a fourth up about 50 %, a semitone down 12, a fifth up 6, a minor third down 6, a
whole step up 5. FOLLOWS splits these by role (common practice): a row gives the weight of
(root motion, next role) after a role; the rest is shared evenly.

IN_MAJOR and IN_MINOR: weight of each chord (semitones over the tonic, role) in a key.
Weights are relative; every table is made a distribution before use.
"""

from functools import cache

import numpy as np

from stackline.theory.labelling.likelihood import N_ROLES, ROLES

MAJ, MIN, TON, DOM, ALT, LYD, SUS, HALF, DIM = range(N_ROLES)

FOLLOWS: dict[int, dict[tuple[int, int], float]] = {
    DOM: {
        (5, MAJ): 28, (5, MIN): 9, (5, TON): 7, (5, DOM): 12, (5, ALT): 3, (5, SUS): 2,
        (5, HALF): 2, (11, MAJ): 7, (11, MIN): 2, (11, TON): 1, (11, DOM): 4, (11, ALT): 2,
        (11, LYD): 1, (0, ALT): 3, (0, MIN): 2.5, (0, MAJ): 1, (0, TON): 1, (0, SUS): 1,
        (2, MAJ): 6, (2, MIN): 1.5, (2, TON): 1, (2, DOM): 2, (10, DOM): 2, (10, ALT): 1,
        (7, MIN): 2, (7, DOM): 4, (7, ALT): 1.5, (7, TON): 0.5, (7, MAJ): 1, (9, MIN): 1.5,
        (9, HALF): 1, (9, DOM): 1, (9, ALT): 1.5, (4, MIN): 1.5, (4, HALF): 1, (1, DIM): 4,
        (1, DOM): 1, (1, MIN): 1, (6, LYD): 1, (3, MAJ): 1, (3, DOM): 1, (8, MAJ): 1,
    },
    ALT: {
        (5, MAJ): 24, (5, MIN): 19, (5, TON): 16, (5, DOM): 14, (5, ALT): 3, (5, SUS): 2,
        (5, HALF): 3, (11, DOM): 1, (11, MAJ): 1, (0, DOM): 1, (0, MIN): 1, (0, HALF): 0.5,
        (9, MIN): 1, (2, MIN): 1, (2, MAJ): 1, (1, MAJ): 0.7, (3, MIN): 1, (7, MAJ): 0.7,
    },
    LYD: {
        (11, MAJ): 24, (11, MIN): 12, (11, TON): 4, (11, DOM): 8, (11, ALT): 4, (5, MAJ): 9,
        (5, DOM): 3, (5, MIN): 4, (2, MAJ): 6, (7, MAJ): 3, (0, MIN): 3, (10, MIN): 3, (2, MIN): 1,
    },
    SUS: {
        (0, DOM): 32, (0, ALT): 16, (5, MAJ): 20, (5, MIN): 5, (5, TON): 3, (11, MAJ): 1,
        (2, SUS): 7, (10, SUS): 7, (3, SUS): 6, (9, SUS): 3, (1, SUS): 3, (11, SUS): 3,
        (5, SUS): 2, (7, SUS): 2, (5, DOM): 4,
    },
    MIN: {
        (5, DOM): 38, (5, ALT): 15, (5, SUS): 4, (5, LYD): 1, (0, DOM): 1, (0, TON): 3,
        (5, MIN): 5, (5, TON): 0.7, (5, MAJ): 2, (2, HALF): 2, (2, MIN): 3, (2, ALT): 3,
        (10, MIN): 4, (10, DOM): 2, (10, MAJ): 1.5, (11, DOM): 4, (11, LYD): 3, (11, MIN): 3,
        (11, DIM): 4, (7, DOM): 1.5, (7, ALT): 2, (7, MIN): 2, (3, MAJ): 2, (3, MIN): 1.5,
        (3, TON): 1, (8, MAJ): 1.5, (8, DOM): 1, (8, TON): 1, (1, DIM): 3, (1, MIN): 2,
        (1, MAJ): 2, (9, HALF): 1.5, (9, MIN): 1, (4, MIN): 0.5,
    },
    TON: {
        (0, TON): 4, (0, MIN): 4, (0, ALT): 5, (0, DOM): 3, (2, HALF): 9, (2, ALT): 7,
        (2, DOM): 3, (2, MIN): 3, (7, ALT): 6, (7, DOM): 2, (7, MAJ): 10, (7, TON): 4,
        (7, MIN): 3, (7, HALF): 1.5, (5, MIN): 8, (5, TON): 4, (5, DOM): 8, (8, DOM): 4,
        (8, MAJ): 4, (9, HALF): 4, (10, MIN): 2, (10, TON): 1.5, (3, MAJ): 3, (1, DOM): 3,
        (1, LYD): 1, (11, MIN): 1, (6, MIN): 1,
    },
    MAJ: {
        (9, ALT): 7, (9, DOM): 2, (9, MIN): 9, (9, SUS): 1, (2, MIN): 11, (2, DOM): 4,
        (2, HALF): 2, (2, SUS): 2, (2, MAJ): 2, (5, MAJ): 7, (5, DOM): 4, (5, LYD): 1,
        (5, MIN): 3, (5, TON): 2.5, (5, SUS): 1, (0, MIN): 4, (0, TON): 4, (0, DOM): 3,
        (0, DIM): 1, (10, DOM): 2, (10, LYD): 1, (10, MAJ): 1.5, (10, SUS): 1.5, (11, MIN): 2,
        (11, HALF): 5, (11, DOM): 1, (11, ALT): 2, (4, MIN): 4, (4, ALT): 2, (4, DOM): 2,
        (4, HALF): 1, (1, DIM): 6, (1, MIN): 3, (1, MAJ): 2, (1, LYD): 1, (1, HALF): 0.7,
        (3, MAJ): 3, (3, DIM): 3, (3, DOM): 3, (3, MIN): 2, (8, MAJ): 3, (8, DOM): 2,
        (7, DOM): 4, (7, SUS): 2, (7, MIN): 5, (6, HALF): 4, (6, DIM): 1,
    },
    HALF: {
        (5, ALT): 66, (5, DOM): 14, (5, SUS): 2, (5, HALF): 3, (5, MIN): 2, (5, TON): 1,
        (11, DOM): 3, (11, LYD): 2, (11, MIN): 4, (11, MAJ): 2, (10, DOM): 1,
    },
    DIM: {
        (1, MIN): 28, (1, MAJ): 6, (1, DOM): 2, (1, ALT): 1, (11, MIN): 18, (11, DOM): 3,
        (11, MAJ): 1, (0, MAJ): 8, (2, MAJ): 3, (2, DOM): 1, (5, MIN): 3, (7, MAJ): 3,
        (6, DOM): 6, (6, MAJ): 4, (10, MIN): 2,
    },
}  # fmt: skip
FOLLOWS_REST = 0.3  # share of the rest: any root, as where a new phrase starts elsewhere

IN_MAJOR: dict[tuple[int, int], float] = {
    (0, MAJ): 20, (0, DOM): 3, (0, ALT): 1, (0, SUS): 1, (0, DIM): 0.8, (1, DOM): 1.5,
    (1, LYD): 2, (1, MAJ): 0.6, (1, DIM): 2.5, (2, MIN): 16, (2, DOM): 4, (2, ALT): 1.5,
    (2, HALF): 1.5, (2, SUS): 1.2, (3, DIM): 2, (3, DOM): 1, (3, MAJ): 0.7, (3, MIN): 0.8,
    (4, MIN): 4, (4, ALT): 4, (4, DOM): 0.7, (4, HALF): 1, (5, MAJ): 5, (5, DOM): 2.5,
    (5, LYD): 0.5, (5, MIN): 1.5, (5, TON): 3, (5, SUS): 0.6, (6, HALF): 1.2, (6, DIM): 2.5,
    (7, DOM): 14, (7, ALT): 8, (7, SUS): 4, (7, MIN): 1.5, (8, DOM): 1, (8, LYD): 0.4,
    (8, MAJ): 0.8, (9, MIN): 7, (9, ALT): 5, (9, DOM): 1.5, (10, DOM): 2, (10, LYD): 0.8,
    (10, MAJ): 0.5, (10, SUS): 0.6, (11, HALF): 2, (11, ALT): 1.2, (11, DOM): 0.7,
    (11, MIN): 0.6, (11, DIM): 0.5,
}  # fmt: skip
IN_MINOR: dict[tuple[int, int], float] = {
    (0, TON): 26, (0, MIN): 11, (0, ALT): 3, (0, DOM): 1, (1, DOM): 1.5, (1, LYD): 1.5,
    (1, MAJ): 2, (2, HALF): 15, (2, DOM): 1.5, (2, ALT): 1, (2, MIN): 0.6, (3, MAJ): 5,
    (3, DOM): 0.8, (5, MIN): 7, (5, TON): 5, (5, DOM): 0.8, (6, DIM): 0.4, (7, ALT): 18,
    (7, DOM): 3, (7, SUS): 1.5, (7, MIN): 2, (7, HALF): 1.5, (8, MAJ): 4, (8, DOM): 4,
    (8, LYD): 1, (9, HALF): 2.5, (10, DOM): 4, (10, MAJ): 0.8, (10, TON): 0.5, (11, DIM): 1.5,
}  # fmt: skip
KEY_REST = 0.08  # share of chords that any key may hold (ours)
KEY_STAYS = 0.97  # chance that a change of chord stays in its key (ours)
# Weights, by semitones up (ours).
KEY_MOVES = {
    5: 3.0,
    7: 2.0,
    10: 2.0,
    2: 1.5,
    3: 1.2,
    9: 1.2,
    8: 1.0,
    4: 1.0,
    1: 1.0,
    11: 1.0,
    6: 0.7,
}
PARALLEL, RELATIVE = 4.0, 4.0  # weights of a change of mode on one tonic, and to the relative key


def _role_shares() -> np.ndarray:
    """Share of each role among all chords, float64 (n_roles,)."""
    shares = np.array([role.prior for role in ROLES])
    return shares / shares.sum()


@cache
def follow_table() -> np.ndarray:
    """P(next chord | chord), a different chord: float64 (108, 108), state = root * 9 + role."""
    n = N_ROLES
    table = np.zeros((12, n, 12, n))
    for role, row in FOLLOWS.items():
        shares = np.tile(FOLLOWS_REST * _role_shares() / 12, (12, 1))
        total = sum(row.values())
        for (step, following), weight in row.items():
            shares[step, following] += (1 - FOLLOWS_REST) * weight / total
        shares[0, role] = 0.0
        shares /= shares.sum()
        for root in range(12):
            table[root, role] = np.roll(shares, root, axis=0)
    return table.reshape(12 * n, 12 * n)


@cache
def key_table() -> np.ndarray:
    """P(chord | key): float64 (24, 108); keys 0..11 major by tonic, 12..23 minor."""
    n = N_ROLES
    rows = np.empty((24, 12 * n))
    for mode, weights in enumerate((IN_MAJOR, IN_MINOR)):
        shares = np.full((12, n), KEY_REST / (12 * n))
        total = sum(weights.values())
        for (step, role), weight in weights.items():
            shares[step, role] += (1 - KEY_REST) * weight / total
        for tonic in range(12):
            rows[12 * mode + tonic] = np.roll(shares, tonic, axis=0).ravel()
    return rows


@cache
def key_moves() -> np.ndarray:
    """P(next key | key): float64 (24, 24)."""
    table = np.zeros((24, 24))
    for key in range(24):
        mode, tonic = divmod(key, 12)
        for step, weight in KEY_MOVES.items():
            for to_mode in (0, 1):
                table[key, 12 * to_mode + (tonic + step) % 12] += weight
        relative = 12 * (1 - mode) + (tonic + (9 if mode == 0 else 3)) % 12
        table[key, relative] += RELATIVE
        table[key, 12 * (1 - mode) + tonic] += PARALLEL
        table[key, key] = 0.0
        table[key] *= (1 - KEY_STAYS) / table[key].sum()
        table[key, key] = KEY_STAYS
    return table
