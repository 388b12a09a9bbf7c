"""The nearest way through a whole progression, family by family.

Dynamic programming over all voicings of a family at all places (`best_ends`): no other choice of
the same voicings moves less. Of ways that move alike the plainer goes first, then the one that
lies nearer the middle of the keyboard.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from stackline.shared.best_path import best_ends
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.ways.builds import ALTERED, OCTAVE
from stackline.theory.ways.choices import Choice, Row, family_row, motion
from stackline.theory.ways.families import FAMILIES, Family
from stackline.theory.ways.reach import Reach

MIDDLE = 60  # MIDI, C4
_GROUND = frozenset({"R", "b3", "3", "4", "bb7", "b7", "7", "6"})
TIE = 1e-4  # of a semitone: too small to outweigh a voice that moves
PLAIN, CENTRED = 1.0, 0.02  # an altered note counts as much as fifty semitones off the middle


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """A chord to voice: root 0..11, quality's key, and the degree on top where it is given."""

    root_pc: int
    quality: str
    top: str | None = None


@dataclass(frozen=True, kw_only=True)
class Through:
    """One way through. moved: semitones that a voice moves from chord to chord, on the mean."""

    family: str
    chosen: tuple[Choice, ...]
    moved: float

    @property
    def is_grounded(self) -> bool:
        """Whether it begins with the root or a guide tone lowest, as most are learnt."""
        return self.chosen[0].build.degrees[0] in _GROUND


def ways_through(wanted: Sequence[Wanted], reach: Reach) -> tuple[Through, ...]:
    """Of each family the nearest way from each pair of outer degrees of the first chord.

    First those with a guide tone or the root at the bottom, nearest first; none twice. Empty where
    no family can voice every chord.
    """
    found: dict[tuple[tuple[int, ...], ...], Through] = {}
    for family in FAMILIES:
        rows = [_row(family, one, reach) for one in wanted]
        if not all(map(len, rows)) or not _is_there(family, rows):
            continue
        for way in _from_each_start(family, rows):
            found.setdefault(tuple(one.pitches for one in way.chosen), way)
    return tuple(sorted(found.values(), key=lambda one: (not one.is_grounded, one.moved)))


def _row(family: Family, one: Wanted, reach: Reach) -> Row:
    row = family_row(family.name, one.root_pc, one.quality, reach)
    if one.top is None:
        return row
    top = (one.root_pc + pitch_class(one.top)) % OCTAVE
    return Row([choice for choice in row.chosen if choice.pitches[-1] % OCTAVE == top])


def _is_there(family: Family, rows: Sequence[Row]) -> bool:
    """Whether a family voices as many of the chords itself as make it that family."""
    own = sum(family.has(row.chosen[0].build) for row in rows)
    return own > 0 and own >= family.share * len(rows)


def _from_each_start(family: Family, rows: list[Row]) -> list[Through]:
    """The nearest way for each pair of degrees that may lie outside at the start."""
    moves = [motion(a, b) for a, b in pairwise(rows)]
    worth = [-TIE * np.array([_plainness(one) for one in row.chosen]) for row in rows]
    starts = [(one.build.degrees[0], one.build.degrees[-1]) for one in rows[0].chosen]
    back = moves[::-1]  # from the end to the start, so that each start has its best way on
    ends = best_ends(worth[::-1], lambda i: -back[i - 1].T)
    found = []
    for start in dict.fromkeys(starts):
        first = max(
            (i for i, one in enumerate(starts) if one == start), key=lambda i: ends.worth[i]
        )
        path = ends.path_to(first)[::-1]
        chosen = tuple(row.chosen[i] for row, i in zip(rows, path, strict=True))
        steps = [float(move[i, j]) for move, (i, j) in zip(moves, pairwise(path), strict=True)]
        moved = sum(steps) / len(steps) if steps else 0.0
        found.append(Through(family=family.name, chosen=chosen, moved=moved))
    return found


def _plainness(one: Choice) -> float:
    altered = sum(degree in ALTERED for degree in one.build.degrees)
    off = abs(sum(one.pitches) / len(one.pitches) - MIDDLE)
    return PLAIN * altered + CENTRED * off
