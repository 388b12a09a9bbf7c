"""Choosing voicings from the table of shapes as a comping player would: near the last one.

Each draw looks at a handful of shapes of the chord's kind, places each where it moves
least from the voicing before, and takes the nearest, with enough chance in it that the
whole table is visited. Shapes whose root sounds keep their place low; no shape leaves the
given range.
"""

from functools import cache

import numpy as np

from bench.chord_cycles import ChordKind, Step
from bench.truth import TrueChord
from theory.qualities import quality
from theory.shapes import Shape, realise, shapes

CONSIDERED = 5
MUD = 40  # closer than a fifth at the bottom is avoided below this
TONIC_MINOR = ("m6", "m6/9", "mMaj7", "mMaj9")
PLAIN = ("7", "9", "13", "7(13)")
LYDIAN = ("9(#11)", "13(#11)")
ALTERATIONS = ("b9", "#9", "b13")


@cache
def shapes_of(kind: ChordKind) -> tuple[Shape, ...]:
    """The shapes that players use for a kind of chord."""
    return tuple(shape for shape in shapes() if _serves(shape, kind))


def _serves(shape: Shape, kind: ChordKind) -> bool:
    family = quality(shape.quality).family
    if kind == "tonic minor":
        return shape.quality in TONIC_MINOR
    if kind == "minor":
        return family == "minor" and shape.quality not in TONIC_MINOR
    if kind == "plain dominant":
        return shape.quality in PLAIN
    if kind == "substitute dominant":
        return shape.quality in PLAIN + LYDIAN
    if kind == "altered dominant":
        return family == "dominant" and any(one in shape.quality for one in ALTERATIONS)
    if kind == "dominant":
        return family in ("dominant", "suspended")
    return family == kind


class ListedVoicer:
    """Draws voicings within `low`..`high`, by preference around `centre` (MIDI)."""

    def __init__(self, *, low: int, high: int, centre: float) -> None:
        self._low, self._high, self._centre = low, high, centre

    def draw(
        self, rng: np.random.Generator, step: Step, before: tuple[int, ...] | None
    ) -> tuple[tuple[int, ...], TrueChord]:
        """A voicing of the chord that lies near the one before, and the chord's name."""
        pool = shapes_of(step.kind)
        found: list[tuple[float, tuple[int, ...], Shape]] = []
        while not found:
            for index in rng.choice(len(pool), size=min(CONSIDERED, len(pool)), replace=False):
                shape = pool[index]
                for pitches in self._places(shape, step.root):
                    cost = _distance(pitches, before, self._centre) + rng.exponential(2.0)
                    found.append((cost, pitches, shape))
        _, pitches, shape = min(found, key=lambda one: one[0])
        return pitches, TrueChord(root_pc=step.root, quality=shape.quality)

    def _places(self, shape: Shape, root_pc: int) -> list[tuple[int, ...]]:
        """Every octave in which the shape is in range and not muddy."""
        places = []
        for lowest in range(self._low, self._high, 12):
            try:
                pitches = realise(shape, root_pc, lowest)
            except ValueError:
                continue
            muddy = pitches[0] < MUD and pitches[1] - pitches[0] < 7
            if pitches[-1] <= self._high and not (muddy and self._low >= 36):
                places.append(pitches)
        return places


def _distance(pitches: tuple[int, ...], before: tuple[int, ...] | None, centre: float) -> float:
    """Mean semitones from each note to the nearest of the voicing before, plus top motion."""
    drift = abs(float(np.mean(pitches)) - centre) / 3
    if before is None:
        return drift
    moves = [min(abs(pitch - old) for old in before) for pitch in pitches]
    return float(np.mean(moves)) + 0.3 * abs(pitches[-1] - before[-1]) + drift
