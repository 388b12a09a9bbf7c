"""Chord sequences that comping is practised on, in any key.

Each row is a cycle of (semitones of the root above the key, kind of chord, beats). Kinds are
wider than qualities: the voicing decides which tensions a dominant carries. Source: common
practice (two-five-ones, turnarounds, cycles of dominants, blues and modal vamps).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

ChordKind = Literal["major", "minor", "dominant", "half-diminished", "tonic minor", "diminished"]


@dataclass(frozen=True, kw_only=True)
class Step:
    """One chord of a cycle: root in semitones above the key, kind, beats that it lasts."""

    root: int
    kind: ChordKind
    beats: int


def _cycle(*steps: tuple[int, ChordKind, int]) -> tuple[Step, ...]:
    return tuple(Step(root=root, kind=kind, beats=beats) for root, kind, beats in steps)


CYCLES: dict[str, tuple[Step, ...]] = {
    "two-five-one": _cycle((2, "minor", 4), (7, "dominant", 4), (0, "major", 8)),
    "short two-five-one": _cycle((2, "minor", 2), (7, "dominant", 2), (0, "major", 4)),
    "minor two-five-one": _cycle(
        (2, "half-diminished", 4), (7, "dominant", 4), (0, "tonic minor", 8)
    ),
    "turnaround": _cycle((0, "major", 2), (9, "dominant", 2), (2, "minor", 2), (7, "dominant", 2)),
    "minor turnaround": _cycle(
        (0, "tonic minor", 2), (9, "half-diminished", 2), (2, "half-diminished", 2),
        (7, "dominant", 2),
    ),
    "substitute turnaround": _cycle(
        (4, "minor", 2), (3, "dominant", 2), (2, "minor", 2), (1, "dominant", 2)
    ),
    "dominants in fifths": _cycle(
        (4, "dominant", 4), (9, "dominant", 4), (2, "dominant", 4), (7, "dominant", 4)
    ),
    "blues": _cycle(
        (0, "dominant", 4), (5, "dominant", 4), (0, "dominant", 8), (5, "dominant", 4),
        (6, "diminished", 4), (0, "dominant", 4), (9, "dominant", 4), (2, "minor", 4),
        (7, "dominant", 4), (0, "dominant", 4), (7, "dominant", 4),
    ),
    "modal vamp": _cycle((2, "minor", 8), (3, "minor", 8)),
    "dominant vamp": _cycle((0, "dominant", 4), (10, "dominant", 4)),
    "major vamp": _cycle((0, "major", 4), (5, "major", 4)),
}  # fmt: skip


def walk_cycles(rng: np.random.Generator, *, beats: int) -> list[Step]:
    """Chords that fill at least `beats` beats: whole cycles, each in a key drawn at random.

    Roots of the steps that come back are absolute pitch classes, 0..11.
    """
    names = list(CYCLES)
    steps: list[Step] = []
    filled = 0
    while filled < beats:
        key = int(rng.integers(12))
        for step in CYCLES[names[rng.integers(len(names))]]:
            steps.append(Step(root=(step.root + key) % 12, kind=step.kind, beats=step.beats))
            filled += step.beats
    return steps
