"""The degrees of pitches over a chord that has a name."""

from collections.abc import Sequence

from stackline.shared.harmony import ChordSymbol, Degree
from stackline.theory.chords.degrees import name_degree, pitch_class
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of


def degrees_over(symbol: ChordSymbol, pitches: Sequence[int]) -> tuple[Degree, ...]:
    """Each pitch's degree over a chord.

    A note of the named chord takes the name that it has there (the #5 of C7(#5)); any
    other takes the rule of `degrees`, where a seventh that the name has counts as
    sounding (the 13 of Cmaj9, not its 6).
    """
    row = quality(symbol.quality)
    root = pitch_class_of(symbol.root)
    named = {pitch_class(one): Degree.parse(one) for one in row.degrees}
    over = {(pitch - root) % 12 for pitch in pitches} | (set(row.intervals) & {10, 11})
    found = []
    for pitch in pitches:
        interval = (pitch - root) % 12
        found.append(named.get(interval) or name_degree(interval, row.family, over))
    return tuple(found)
