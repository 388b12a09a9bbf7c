"""Chord sequences that comping is practised on, in any key.

Each row is a cycle of (semitones of the root above the key, kind of chord, beats). Kinds are
wider than qualities: the voicing decides which tensions a dominant carries. Source: common
practice (two-five-ones, turnarounds, cycles of dominants, blues and modal vamps).

Ways to walk through them (`WALKS`):

`walk_cycles` goes from cycle to cycle, each once, each in a key drawn at random, and any
dominant may carry any tensions. That is hard on an ear, as it should be: all keys, all voicings,
nothing to be guessed from what came before. As chords it is not music: two chords of a vamp
once and never again, a blues whose I7 is an altered dominant, a substitute dominant with the
tensions that make it the plain V7 it stands for, so that what a player would call the chord and
what the truth calls it differ.

`practise_cycles` plays as players practise: one cycle several times in a key, then in the next
key by a pattern (half steps, whole steps, fourths, minor thirds), then perhaps another cycle;
and tensions go where the dominant goes. One that falls by a fifth may carry anything, to a
minor chord of rest an alteration; one that falls by a semitone stands in for the V7 and is
plain or has the #11; others (the I7 and IV7 of a blues, vamps) are plain (all common practice).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

ChordKind = Literal[
    "major", "minor", "dominant", "half-diminished", "tonic minor", "diminished",
    "plain dominant", "substitute dominant", "altered dominant",
]  # fmt: skip


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


KEY_PATTERNS = (1, -1, 2, -2, 5, -5, 3)  # semitones from key to key
TIMES = (2, 3, 4)  # a cycle is played so often in a key
VAMP_TIMES = (4, 6, 8)  # a vamp of two chords
KEYS = (2, 3, 4, 6, 12)  # and goes through so many keys


def practise_cycles(rng: np.random.Generator, *, beats: int) -> list[Step]:
    """Chords that fill at least `beats` beats, as players practise; see above.

    Roots are absolute pitch classes, 0..11; dominants have the kind that their way demands.
    """
    names = list(CYCLES)
    steps: list[Step] = []
    while sum(step.beats for step in steps) < beats:
        cycle = CYCLES[names[rng.integers(len(names))]]
        key, move = int(rng.integers(12)), int(rng.choice(KEY_PATTERNS))
        times = int(rng.choice(VAMP_TIMES if len(cycle) == 2 else TIMES))
        for turn in range(int(rng.choice(KEYS))):
            shift = key + turn * move
            steps += [replace(step, root=(step.root + shift) % 12) for step in cycle] * times
    return _by_way(steps)


def walk_by_way(rng: np.random.Generator, *, beats: int) -> list[Step]:
    """The chords of `walk_cycles`, dominants with the kind that their way demands."""
    return _by_way(walk_cycles(rng, beats=beats))


def _by_way(steps: list[Step]) -> list[Step]:
    following = [*steps[1:], None]
    return [_with_way(step, then) for step, then in zip(steps, following, strict=True)]


def _with_way(step: Step, then: Step | None) -> Step:
    """The step, a dominant's kind narrowed by the chord that follows."""
    if step.kind != "dominant" or then is None:
        return step
    kinds: dict[int, ChordKind] = {5: "dominant", 11: "substitute dominant"}
    kind = kinds.get((then.root - step.root) % 12, "plain dominant")
    if kind == "dominant" and then.kind == "tonic minor":
        kind = "altered dominant"
    return replace(step, kind=kind)


WalkName = Literal["any key", "tensions by way", "practised"]
WALKS: dict[WalkName, Callable[..., list[Step]]] = {
    "any key": walk_cycles, "tensions by way": walk_by_way, "practised": practise_cycles,
}  # fmt: skip
