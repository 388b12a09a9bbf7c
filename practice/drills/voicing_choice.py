"""Voicings for a target that gives only chords: from theory's table of common shapes.

The cheapest row through the chords is kept: notes move as little as possible, rootless
shapes go before others, and the number of notes stays the same (prices ours; common
practice behind them).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stackline.practice.targets.stack import Stack, heights, read_stack, spaced
from stackline.practice.targets.targets import Target, TargetChord, movement, nearest_octave
from stackline.shared.harmony import Degree
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.stacks.shapes import Shape, shapes, shapes_for

ROOTED, COUNT_CHANGED, NOTES_OFF = 5.0, 3.0, 1.0  # prices in semitones that a note may move instead
USUAL_NOTES = 4  # notes of a voicing
TRIAD = 3  # notes: such a chord is played as it stands
MIDDLE = 60  # MIDI number: middle C


@dataclass(frozen=True)
class _Way:
    """A row of stacks so far: its price, the stacks, where the last one lies."""

    price: float
    stacks: tuple[Stack, ...]
    last: tuple[int, ...]


def voiced(target: Target) -> Target:
    """The target with a stack for each chord; what had one keeps it."""
    if target.has_stacks:
        return target
    ways: list[_Way] = []
    for chord in target.chords:
        ways = _grown(ways, chord)
    best = min(ways, key=lambda one: one.price)
    chords = tuple(
        replace(chord, stack=stack) for chord, stack in zip(target.chords, best.stacks, strict=True)
    )
    return replace(target, chords=chords)


def _grown(ways: Sequence[_Way], chord: TargetChord) -> list[_Way]:
    """For each stack of a chord, the cheapest way to it."""
    found = []
    for stack in _stacks(chord):
        placed = tuple(chord.offset + height for height in heights(stack))
        own = ROOTED * (Degree(number=1) in [one.degree for one in stack]) + NOTES_OFF * abs(
            len(stack) - USUAL_NOTES
        )
        if not ways:
            start = nearest_octave(placed, (MIDDLE,))
            found.append(_Way(own, (stack,), start))
            continue
        steps = []
        for way in ways:
            here = nearest_octave(placed, way.last)
            price = way.price + own + movement(way.last, here) / 2
            price += COUNT_CHANGED * abs(len(here) - len(way.last))
            steps.append(_Way(price, (*way.stacks, stack), here))
        found.append(min(steps, key=lambda one: one.price))
    return found


def _stacks(chord: TargetChord) -> list[Stack]:
    """What a chord may be voiced with: its own stack, its quality's shapes, or plainer ones."""
    if chord.stack:
        return [chord.stack]
    triad = len(chord.row.degrees) <= TRIAD
    found = shapes_for(chord.quality) or (() if triad else _plainer(chord))
    if not found:
        return [_plain_stack(chord)]
    return [spaced([Degree.parse(d) for d in one.degrees], one.semitones) for one in found]


def _plain_stack(chord: TargetChord) -> Stack:
    """A chord that no shape is for: a triad as it stands; else guide tones and what is above.

    The root and a fifth that is not altered go first where there are more than four notes.
    """
    degrees = chord.row.degrees
    if len(degrees) > USUAL_NOTES:
        degrees = tuple(degree for degree in degrees if degree not in ("R", "5"))
    return read_stack(" ".join(degrees))


def _plainer(chord: TargetChord) -> tuple[Shape, ...]:
    """Shapes that hold what the symbol asks for, and nothing outside the chord."""
    has = {pitch_class(degree) for degree in chord.row.degrees}
    asked = {pitch_class(degree) for degree in chord.needed}
    return tuple(
        shape
        for shape in shapes()
        if asked <= {step % 12 for step in shape.semitones} <= has
        and set(shape.degrees) <= set(chord.row.degrees)
    )
