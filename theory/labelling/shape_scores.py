"""How likely a stack is as one of the common shapes of `stackline.theory.stacks.shapes`.

A stack is recognised by its gaps; the shapes with those gaps say which root and role would
lie under it. Every shape of a role is taken to be equally common. A stack that is no
listed shape gets nothing here and is judged by its intervals alone (`likelihood`).
"""

from collections.abc import Sequence
from functools import cache
from itertools import pairwise

import numpy as np

from stackline.theory.chords.qualities import quality
from stackline.theory.labelling.likelihood import N_ROLES, ROLES
from stackline.theory.stacks.shapes import Shape, shapes

FEWEST_DAMAGED = 4  # notes of a shape that is still known with one wrong (ours)
MISSED, ADDED = 0.06, 0.02  # an ear loses or adds a note
_NUMBER = {role.name: i for i, role in enumerate(ROLES)}


def role_of(key: str) -> int:
    """The number of the role that a quality plays: its family, refined by its tensions."""
    row = quality(key)
    degrees = set(row.degrees)
    if row.family == "dominant":
        if degrees & {"b9", "#9", "b13"}:
            return _NUMBER["altered"]
        return _NUMBER["lydian dominant" if "#11" in degrees else "dominant"]
    if row.family == "minor" and degrees & {"6", "7"}:
        return _NUMBER["tonic minor"]
    return _NUMBER[row.family]


@cache
def shape_chances(table: tuple[Shape, ...] | None = None) -> dict[tuple[int, ...], np.ndarray]:
    """P(shape | role) by gaps: float64 (12 intervals of the lowest note over the root, n_roles).

    table: the shapes to know, all of `shapes` if left out. Shapes of four notes and
    more are also known with any one note missing, at MISSED each.
    """
    known = shapes() if table is None else table
    totals = np.zeros(N_ROLES)
    found: dict[tuple[int, ...], np.ndarray] = {}
    for shape in known:
        role = role_of(shape.quality)
        totals[role] += 1
        forms = [(shape.semitones, 1.0)]
        if len(shape.semitones) >= FEWEST_DAMAGED:
            forms += [(part, MISSED) for part in _without_one(shape.semitones)]
        for steps, weight in forms:
            counts = found.setdefault(_gaps(steps), np.zeros((12, N_ROLES)))
            counts[steps[0] % 12, role] += weight
    return {gaps: counts / np.maximum(totals, 1) for gaps, counts in found.items()}


def _gaps(steps: Sequence[int]) -> tuple[int, ...]:
    return tuple(b - a for a, b in pairwise(steps))


def _without_one(steps: tuple[int, ...]) -> list[tuple[int, ...]]:
    return [steps[:i] + steps[i + 1 :] for i in range(len(steps))]


def shape_row(
    pitches: tuple[int, ...], table: tuple[Shape, ...] | None = None
) -> np.ndarray | None:
    """P(shape | root, role) of a stack for every root, float64 (12, n_roles); None if unlisted.

    A stack that is no shape, but one with a note too many, gets its chances at ADDED.
    """
    row = _listed(pitches, table)
    if row is not None or len(pitches) < FEWEST_DAMAGED:
        return row
    rows = [_listed(part, table) for part in _without_one(pitches)]
    sums = [one for one in rows if one is not None]
    return ADDED * np.sum(sums, axis=0) if sums else None


def _listed(pitches: tuple[int, ...], table: tuple[Shape, ...] | None) -> np.ndarray | None:
    chances = shape_chances(table).get(_gaps(pitches))
    if chances is None:
        return None
    return chances[(pitches[0] - np.arange(12)) % 12]
