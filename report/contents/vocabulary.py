"""The vocabulary of a take: each shape once, whatever its key.

A shape is a chord quality with a degree stack, octaves included, so that `3 b7 9` close
and open are two shapes. Voicings whose notes or name are unsure are left out: a doubtful
reading must not enter what a player is said to play.
"""

from dataclasses import dataclass
from itertools import pairwise

from stackline.report.words.marks import doubts
from stackline.shared.harmony import Voicing
from stackline.shared.take import Take

ShapeKey = tuple[str, tuple[str, ...], tuple[int, ...]]


@dataclass(frozen=True, kw_only=True)
class ShapeUse:
    """One shape and where it was played.

    quality: of the chord (``13(b9)``). example: the first voicing of this shape, by index.
    gaps: semitones between neighbours. keys: roots in order of first use. places: indices
    of all its voicings.
    """

    quality: str
    stack: tuple[str, ...]
    gaps: tuple[int, ...]
    structure: str
    example: int
    keys: tuple[str, ...]
    places: tuple[int, ...]

    @property
    def count(self) -> int:
        """How often it was played."""
        return len(self.places)


def shape_key(voicing: Voicing) -> ShapeKey:
    """What makes two voicings the same shape."""
    pitches = voicing.pitches
    gaps = tuple(high - low for low, high in pairwise(pitches))
    return voicing.chord.symbol.quality, tuple(str(degree) for degree in voicing.stack), gaps


def vocabulary(take: Take) -> tuple[ShapeUse, ...]:
    """The shapes of a take, most played first, then in order of first use."""
    places: dict[ShapeKey, list[int]] = {}
    for i, voicing in enumerate(take.voicings):
        if not doubts(voicing):
            places.setdefault(shape_key(voicing), []).append(i)
    shapes = [_shape(take, key, found) for key, found in places.items()]
    return tuple(sorted(shapes, key=lambda shape: -shape.count))


def _shape(take: Take, key: ShapeKey, places: list[int]) -> ShapeUse:
    quality, stack, gaps = key
    first = take.voicings[places[0]]
    roots = [take.voicings[i].chord.symbol.root for i in places]
    return ShapeUse(
        quality=quality,
        stack=stack,
        gaps=gaps,
        structure=first.structures[0] if first.structures else "",
        example=places[0],
        keys=tuple(dict.fromkeys(roots)),
        places=tuple(places),
    )
