"""Degrees as arithmetic: a degree's semitones over the root, and a note's degree in a chord.

A degree's size is that of the major scale's step (1 3 5 7 9 11 13 = 0 4 7 11 14 17 21
semitones) plus its alteration. `name_degree` goes back from a pitch class to a name,
which depends on the chord: 3 semitones are the b3 of a minor chord and the #9 of a
dominant one. Its rules are common practice:

    0 R | 1 b9 | 2 9 | 3 b3 in minor, half-diminished and diminished chords, else #9
    4 3 | 5 11, 4 in a suspended chord | 6 b5 in half-diminished and diminished chords and
    in minor chords without a 5, else #11 | 7 5 | 8 b13, #5 with a major 7 and no 5
    9 13 where a 7th sounds, else 6; bb7 in a diminished chord | 10 b7 | 11 7
"""

from collections.abc import Set
from functools import cache

from stackline.shared.harmony import Degree

_SCALE = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}  # semitones above the root, of a major scale
_PLAIN = ("R", "b9", "9", "#9", "3", "11", "#11", "5", "b13", "6", "b7", "7")
MINOR_THIRDS = frozenset({"minor", "half-diminished", "diminished"})
FLAT_FIFTHS = frozenset({"half-diminished", "diminished"})


@cache
def semitones(degree: Degree | str) -> int:
    """Semitones above the root, 9 and up an octave higher: ``b9`` is 13, ``bb7`` is 9."""
    if isinstance(degree, str):
        degree = Degree.parse(degree)
    octaves, step = divmod(degree.number - 1, 7)
    return 12 * octaves + _SCALE[step + 1] + degree.alteration


@cache
def pitch_class(degree: Degree | str) -> int:
    """Semitones above the root within the octave, 0..11."""
    return semitones(degree) % 12


def name_degree(interval: int, family: str, sounding: Set[int]) -> Degree:
    """The degree of a note `interval` semitones above the root (taken modulo 12).

    family: a quality's family (see `stackline.theory.chords.qualities`). sounding: the intervals
    (0..11) of everything that sounds, itself included.
    """
    interval %= 12
    if interval == 3 and family in MINOR_THIRDS:
        return Degree.parse("b3")
    if interval == 5 and family == "suspended":
        return Degree.parse("4")
    if interval == 6 and (family in FLAT_FIFTHS or (family == "minor" and 7 not in sounding)):
        return Degree.parse("b5")
    if interval == 8 and 11 in sounding and 7 not in sounding:
        return Degree.parse("#5")
    if interval == 9 and family == "diminished":
        return Degree.parse("bb7")
    if interval == 9 and sounding & {10, 11}:
        return Degree.parse("13")
    return Degree.parse(_PLAIN[interval])
