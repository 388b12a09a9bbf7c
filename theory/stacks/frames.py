"""What a chord symbol asks for, what it leaves to the player, and what contradicts it.

A symbol is a frame, a stack is a demand (common practice). A symbol asks for its guide tones,
a 6 being as good as a 7 on a tonic chord, and for the alterations it writes. Free are its root,
its fifth unless it alters it, and the tensions that the kind of chord takes as they are:

    major            6 7 9 13 #11                        not: b7, 11, b9, #9, b13
    minor            9 11 6 13, and 7 where no b7 is written   not: 3, b9, b13
    half-diminished  9 11 b13                            not: 3, 5, 7
    diminished       a whole step above each chord tone: 9 11 b13 7
    suspended        9 13, and the 3 where the 4 sounds as well
    dominant         9 or b9 or #9, #11, 13 or b13: whichever of each the symbol leaves open.
                     A written 9 or 13 closes its own, a written b9 or #9 leaves both of these,
                     alt all altered ones and no other          not: 11, 7

Everything else contradicts the symbol. Two ways of voicing do without a guide tone and are
taught as such: a shell of two or three notes with the root in it, and a chord in fourths. A shell
does without written alterations, too.
"""

from collections.abc import Collection, Sequence

from stackline.theory.chords.degrees import pitch_class
from stackline.theory.chords.qualities import Quality
from stackline.theory.stacks.kinds import FOURTHS, FOURTHS_THIRD, FOURTHS_TWO_HANDS
from stackline.theory.stacks.structures import structures

_GUIDES = ("b3", "3", "4", "bb7", "b7", "7")
_ALTERED = frozenset({"b5", "#5", "b9", "#9", "#11", "b13"})
_FREE = {
    "major": ("R", "5", "6", "7", "9", "#11"),
    "minor": ("R", "5", "6", "9", "11"),
    "half-diminished": ("R", "b5", "9", "11", "b13"),
    "diminished": ("R", "b5", "9", "11", "b13", "7"),
    "suspended": ("R", "5", "9", "13"),
    "dominant": ("R", "#11"),
}
_IN_FOURTHS = frozenset({FOURTHS, FOURTHS_THIRD, FOURTHS_TWO_HANDS})
SHELL_NOTES = 3  # notes of a shell, at most (common practice)


def guide_tones(row: Quality) -> tuple[str, ...]:
    """A quality's 3 (4 if suspended) and its 7, bb7 or, without one, 6."""
    found = [degree for degree in row.degrees if degree in _GUIDES]
    if len(found) < 2 and "6" in row.degrees:
        found.append("6")
    return tuple(found)


def asked(row: Quality) -> tuple[tuple[str, ...], ...]:
    """What a symbol asks for: of each group one degree, the written one first.

    "alt" leaves the choice of tensions to the player.
    """
    groups = [_or_its_like(row, degree) for degree in guide_tones(row)]
    if row.key != "7alt" and row.family in ("dominant", "major"):
        groups += [(degree,) for degree in row.degrees if degree in _ALTERED]
    return tuple(groups) or tuple((degree,) for degree in row.degrees)


def lacking(row: Quality, pitches: Sequence[int], root_pc: int) -> tuple[tuple[str, ...], ...]:
    """Of what a symbol asks for, what does not sound; guide tones first.

    pitches: rising MIDI. A shell (guide tones, and perhaps the root) leaves every tension out, and
    a written alteration with them: that contradicts nothing.
    """
    sounding = {(pitch - root_pc) % 12 for pitch in pitches}
    guides = _guides(row)
    is_shell = len(pitches) <= SHELL_NOTES and sounding <= {0} | guides
    return tuple(
        group for group in asked(row)
        if not {pitch_class(one) for one in group} & sounding
        and not (is_shell and pitch_class(group[0]) not in guides)
    )  # fmt: skip


def _guides(row: Quality) -> set[int]:
    """Pitch classes of a quality's guide tones and of what stands for them."""
    return {pitch_class(one) for due in guide_tones(row) for one in _or_its_like(row, due)}


def _or_its_like(row: Quality, degree: str) -> tuple[str, ...]:
    """On a tonic chord a 6 stands for a 7 and a 7 for a 6."""
    if degree == "6" or (degree == "7" and row.family in ("major", "minor")):
        return (degree, "7" if degree == "6" else "6")
    return (degree,)


def allowed(row: Quality) -> frozenset[str]:
    """Every degree that may sound under a symbol without contradicting it."""
    free = {*row.degrees, *_FREE[row.family]}
    if row.family == "minor" and "b7" not in row.degrees:
        free |= {"7"} if {"6", "7"} & set(row.degrees) else {"7", "b7"}
    if row.family == "dominant":
        free |= _open_tensions(row)
    if {"#5", "b5"} & set(row.degrees):
        free.discard("5")
    return frozenset(free)


def _open_tensions(row: Quality) -> set[str]:
    """Of a dominant's ninths, thirteenths and fifths, those that the symbol leaves open."""
    written = set(row.degrees)
    altered_nine, altered_five = written & {"b9", "#9"}, written & {"b13", "#5"}
    nines = {"b9", "#9"} if altered_nine else set() if "9" in written else {"9", "b9", "#9"}
    thirteens = {"b13"} if altered_five else set() if "13" in written else {"13", "b13"}
    fifths = set() if row.key == "7alt" else {"5"}
    return nines | thirteens | fifths


def contradicting(row: Quality, sounding: Collection[int]) -> frozenset[int]:
    """The intervals above the root (0..11) of what sounds that contradict a symbol."""
    free = {pitch_class(degree) for degree in allowed(row)}
    if row.family == "suspended" and pitch_class("4") in sounding:
        free.add(pitch_class("3"))
    return frozenset(sounding) - free


def stands_without(pitches: Sequence[int], root_pc: int, row: Quality) -> bool:
    """Whether a voicing is of a kind that does without a guide tone.

    pitches: rising MIDI. A shell is the root and a guide tone, in two or three notes.
    """
    sounding = {(pitch - root_pc) % 12 for pitch in pitches}
    guides = _guides(row)
    if len(pitches) <= SHELL_NOTES and 0 in sounding and sounding - {0} <= guides:
        return len(sounding) > 1
    if sounding - {0} and (pitches[0] - root_pc) % 12 == 0 and 0 in _above(pitches, root_pc):
        pitches = pitches[1:]  # a root put below what has it already
    kinds = structures(pitches, root_pc, row.family) if len(sounding) > 1 else ()
    return bool(_IN_FOURTHS & set(kinds))


def _above(pitches: Sequence[int], root_pc: int) -> set[int]:
    return {(pitch - root_pc) % 12 for pitch in pitches[1:]}
