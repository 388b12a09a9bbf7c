"""Note values: a stretch of a bar as values that a player can read at sight.

Rules (common practice in engraving; wording and numbers ours):

* A beat whose inner places need thirds is a triplet beat; no value crosses its edges.
* A place is as strong as the largest unit that it falls on: bar line, group of beats (the
  middle of 4/4), beat, half beat and so on. A note may cross a place at most twice as strong
  as the weaker of its own ends, and last at most three times that strength. So a quarter may
  stand between two off-beats, but not hide the middle of the bar.
* Values are plain or single-dotted. Whatever does not fit is cut at the strongest place
  inside and tied.
* Rests are plain, and stand where they begin and end on places as strong as what they cross.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from stackline.report.score.score_model import Value, ValueName

# Lengths in quarters.
NAMES: dict[Fraction, ValueName] = {
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th",
    Fraction(1, 8): "32nd",
    Fraction(1, 16): "64th",
    Fraction(1, 32): "128th",
}
TRIPLET = Fraction(3, 2)  # three in the time of two: written length over sounding length
# Beats of a bar that are kept together (common practice).
_GROUPS = {4: (2,), 5: (3,), 6: (3,), 7: (4,), 8: (4,)}

_FINEST = Fraction(1, 32)

Piece = tuple[Fraction, Fraction, Value]  # start, end, value
Strength = Callable[[Fraction], Fraction]


@dataclass(frozen=True, kw_only=True)
class Meter:
    """The beats of a full bar, and how much of it is missing at the front (a pickup)."""

    beats: int
    missing: Fraction = Fraction(0)

    def strength(self, place: Fraction) -> Fraction:
        """How strong a place of the bar is (see the module's text), 4 at the bar lines."""
        place += self.missing
        if place in (0, self.beats):
            return Fraction(4)
        if place.denominator == 1:
            step = 3 if self.beats % 3 == 0 else 4
            groups = _GROUPS.get(self.beats) or range(step, self.beats, step)
            return Fraction(2 if place in groups else 1)
        return _unit(place)


def _unit(place: Fraction) -> Fraction:
    """The largest power of a half that divides a place between beats."""
    return Fraction(1, place.denominator & -place.denominator)


def _triplet_strength(place: Fraction) -> Fraction:
    """Strength inside a triplet beat, in written length from its start (0 to 1.5)."""
    return Fraction(4) if place in (0, TRIPLET) else min(_unit(place), Fraction(1, 2))


def triplet_beats(places: Sequence[Fraction], meter: Meter) -> frozenset[int]:
    """The beats of a bar (counted from 0, full bar) that have a place on a third."""
    return frozenset(int(place + meter.missing) for place in places if place.denominator % 3 == 0)


@lru_cache(maxsize=4096)  # the same few stretches come again and again
def pieces(
    start: Fraction, end: Fraction, meter: Meter, triplets: frozenset[int], rest: bool
) -> tuple[Piece, ...]:
    """A stretch within one bar as values, in order and without gaps."""
    return tuple(_pieces(start, end, meter, triplets, rest))


def _pieces(
    start: Fraction, end: Fraction, meter: Meter, triplets: frozenset[int], rest: bool
) -> Iterator[Piece]:
    for low, high in _at_triplets(start, end, meter, triplets):
        beat = int(low + meter.missing)
        if beat not in triplets:
            for a, b in _cut(low, high, meter.strength, rest):
                yield a, b, _value(b - a, triplet=False)
            continue
        origin = beat - meter.missing
        for a, b in _cut((low - origin) * TRIPLET, (high - origin) * TRIPLET,
                         _triplet_strength, rest):  # fmt: skip
            yield a / TRIPLET + origin, b / TRIPLET + origin, _value(b - a, triplet=True)


def _at_triplets(
    start: Fraction, end: Fraction, meter: Meter, triplets: frozenset[int]
) -> Iterator[tuple[Fraction, Fraction]]:
    """A stretch cut at the edges of triplet beats."""
    edges = {Fraction(beat + side) - meter.missing for beat in triplets for side in (0, 1)}
    cuts = [start, *sorted(edge for edge in edges if start < edge < end), end]
    yield from pairwise(cuts)


def _cut(
    start: Fraction, end: Fraction, strength: Strength, rest: bool
) -> Iterator[tuple[Fraction, Fraction]]:
    """A stretch cut at its strongest inner place until every part is one value."""
    inside = _strongest(start, end, strength)
    if inside is None or _fits(start, end, inside, strength, rest):
        yield start, end
        return
    yield from _cut(start, inside, strength, rest)
    yield from _cut(inside, end, strength, rest)


def _fits(start: Fraction, end: Fraction, inside: Fraction, strength: Strength, rest: bool) -> bool:
    """Whether a stretch may stand as one value."""
    length = end - start
    crossed, own = strength(inside), min(strength(start), strength(end))
    if rest:
        return length in NAMES and crossed <= own
    plain = length in NAMES or length / 3 * 2 in NAMES
    return plain and crossed <= 2 * own and length <= 3 * own


def _strongest(start: Fraction, end: Fraction, strength: Strength) -> Fraction | None:
    """The strongest place inside a stretch, the first of equals; None if there is none."""
    unit = Fraction(1)
    while unit >= _FINEST:
        first = (start // unit + 1) * unit
        places = [first + i * unit for i in range(int((end - first) // unit) + 1)]
        inside = [place for place in places if start < place < end]
        if inside:
            return max(inside, key=lambda place: (strength(place), -place))
        unit /= 2
    return None


def _value(length: Fraction, *, triplet: bool) -> Value:
    """The value of a written length."""
    dotted = length not in NAMES
    return Value(name=NAMES[length / 3 * 2 if dotted else length], dotted=dotted, triplet=triplet)
