"""The voicings of one chord at every place where hands reach them and nothing lies too low."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from stackline.theory.chords.qualities import quality
from stackline.theory.ways.builds import OCTAVE, Build, builds, missing
from stackline.theory.ways.families import BY_NAME, members
from stackline.theory.ways.reach import HIGH, LOW, Reach

_KEYS = np.arange(LOW, HIGH + 1, dtype=np.float32)


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A build on the keys. pitches: rising MIDI."""

    build: Build
    pitches: tuple[int, ...]


class Row:
    """Choices for one chord, and where their notes lie, as arrays for `motion`."""

    def __init__(self, chosen: Sequence[Choice]) -> None:
        self.chosen = tuple(chosen)

    def __len__(self) -> int:
        return len(self.chosen)

    @cached_property
    def sizes(self) -> np.ndarray:
        """How many notes each has, (choices,)."""
        return np.array([len(one.pitches) for one in self.chosen], dtype=np.float32)

    @cached_property
    def struck(self) -> np.ndarray:
        """Which of the keys LOW..HIGH each has, (choices, keys) of 0 and 1."""
        found = np.zeros((len(self), len(_KEYS)), dtype=np.float32)
        for i, one in enumerate(self.chosen):
            found[i, [pitch - LOW for pitch in one.pitches]] = 1
        return found

    @cached_property
    def distances(self) -> np.ndarray:
        """Semitones from each key to the nearest note of each, (choices, keys)."""
        far = np.where(self.struck > 0, 0, len(_KEYS)).astype(np.float32)
        for keys in (range(1, len(_KEYS)), range(len(_KEYS) - 2, -1, -1)):
            step = keys.step
            for key in keys:
                np.minimum(far[:, key], far[:, key - step] + 1, out=far[:, key])
        return far


@lru_cache(maxsize=4096)
def family_row(name: str, root_pc: int, key: str, reach: Reach) -> Row:
    """A family's choices for a chord, or those of the first family that lends some.

    root_pc 0..11, key: a quality's.
    """
    for lender in (name, *BY_NAME[name].beside):
        found = placed(members(lender, key), root_pc, reach)
        if found:
            return Row(found)
    return Row(())


@lru_cache(maxsize=256)
def every_row(root_pc: int, key: str, reach: Reach) -> Row:
    """All choices for a chord of whatever family that have what its symbol writes."""
    whole = [one for one in builds(key) if not missing(quality(key), one.degrees)]
    return Row(placed(whole or builds(key), root_pc, reach))


def placed(found: Sequence[Build], root_pc: int, reach: Reach) -> list[Choice]:
    """Builds over a root at every place within reach."""
    chosen = []
    for build in found:
        room = _room(build.heights, reach)
        start = room.start + (root_pc + build.heights[0] - room.start) % OCTAVE
        for lowest in range(start, room.stop, OCTAVE):
            pitches = tuple(lowest + height - build.heights[0] for height in build.heights)
            chosen.append(Choice(build=build, pitches=pitches))
    return chosen


@lru_cache(maxsize=8192)
def _room(heights: tuple[int, ...], reach: Reach) -> range:
    return reach.lowest_keys(heights)


@lru_cache(maxsize=512)  # changes repeat, and so do their pairs
def motion(before: Row, after: Row) -> np.ndarray:
    """Semitones that a voice moves on the mean, (n_before, n_after) choices.

    Each note goes to the nearest of the other voicing, both ways, so that a note that comes or
    goes counts by how far it stands off.
    """
    there = before.struck @ after.distances.T
    back = before.distances @ after.struck.T
    return (there + back) / np.add.outer(before.sizes, after.sizes)
