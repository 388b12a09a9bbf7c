"""Naming what a player did instead of a given chord: common substitutions.

Compares the chord on paper with the chord that the notes would be called by themselves. A
row of the table: root step from the given chord, given family, heard family, and what
players call it (common practice). Asked only where the two differ.

A tritone substitute has the guide tones of the chord that it stands for, so the same notes are
mostly just an altered or plain V. It is claimed only where the playing says so: its own root is
the lowest note, the V's does not sound, and the chord to come lies where both lead, a fifth
below the V.
"""

from collections.abc import Sequence

from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of

_ANY = ""
TRITONE, FIFTH_BELOW = 6, 5  # semitones
# Semitones above the given root, the family given, the family heard, its name (common practice).
_ROWS: tuple[tuple[int, str, str, str], ...] = (
    (6, "dominant", "dominant", "tritone substitute"),
    (0, "dominant", "suspended", "the dominant suspended"),
    (7, "dominant", "minor", "the ii in place of its V"),
    (1, "dominant", "diminished", "diminished 7th on the b9 (the same as its 7(b9))"),
    (4, "dominant", "diminished", "diminished 7th on the 3 (the same as its 7(b9))"),
    (7, "dominant", "diminished", "diminished 7th on the 5 (the same as its 7(b9))"),
    (10, "dominant", "diminished", "diminished 7th on the b7 (the same as its 7(b9))"),
    (1, "dominant", "minor", "minor 6th on the b9 (the same as its altered chord)"),
    (7, "dominant", "half-diminished", "half-diminished ii in place of its V"),
    (5, "minor", "dominant", "the V in place of its ii"),
    (0, "minor", "dominant", "the dominant on the same root"),
    (0, "half-diminished", "minor", "the plain minor ii for the half-diminished one"),
    (0, "minor", "half-diminished", "the half-diminished ii for the plain minor one"),
    (4, "major", "minor", "the iii for the I (its upper notes)"),
    (9, "major", "minor", "the vi for the I"),
    (3, "minor", "major", "the relative major for the minor chord"),
    (8, "minor", "major", "the major chord a third below"),
    (5, "major", "dominant", "the IV7 for the I"),
    (0, "major", "dominant", "the chord as a dominant"),
    (1, _ANY, _ANY, "side-slip a semitone above"),
    (11, _ANY, _ANY, "side-slip a semitone below"),
)


def is_played(
    given: ChordSymbol, heard: ChordSymbol, pitches: Sequence[int], following: ChordSymbol | None
) -> bool:
    """Whether the playing speaks for a substitution by its name; only tritone ones are doubted.

    pitches: low to high. following: the chord on paper after the given one, None at the end.
    """
    own, other = pitch_class_of(given.root), pitch_class_of(heard.root)
    if (other - own) % 12 != TRITONE:
        return True
    leads_on = following is None or (pitch_class_of(following.root) - own) % 12 == FIFTH_BELOW
    return pitches[0] % 12 == other and all(one % 12 != own for one in pitches) and leads_on


def name_substitution(given: ChordSymbol, heard: ChordSymbol) -> str | None:
    """What the heard chord is to the given one, in words; None where no row fits.

    A side-slip needs the same family, or a minor chord against a minor one and so on.
    """
    step = (pitch_class_of(heard.root) - pitch_class_of(given.root)) % 12
    one, two = quality(given.quality).family, quality(heard.quality).family
    for row_step, row_given, row_heard, words in _ROWS:
        if step != row_step:
            continue
        if row_given == _ANY:
            if one == two:
                return words
        elif (row_given, row_heard) == (one, two):
            return words
    return None


def shared_guides(given: ChordSymbol, classes: frozenset[int]) -> bool:
    """Whether the third (or the 4 of a sus) and the seventh of the given chord both sound."""
    row = quality(given.quality)
    root = pitch_class_of(given.root)
    guides = {
        (root + interval) % 12
        for degree, interval in zip(row.degrees, row.intervals, strict=True)
        if degree in ("3", "b3", "4", "7", "b7", "bb7", "6")
    }
    return guides <= classes
