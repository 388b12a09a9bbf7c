"""Keys, and how a chord root is spelled in one.

Twelve major and twelve minor keys, each by its commonest name. A root takes the name
within the key's window on the line of fifths, from the b2 to the #4: in F the chord on
pitch class 6 is Gb, in D it is F#. Names that nobody writes over a chord (double
accidentals, Fb, E#, B#) are respelled. A diminished chord that leads up by a semitone takes
the raised name: C#dim7 before Dm7 (common practice).
"""

from dataclasses import dataclass

from stackline.theory.chords.spelling import fifths, name_at, nearest_spelling, pitch_class_of

MAJOR_TONICS = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
MINOR_TONICS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
_UNWRITTEN = frozenset({"Fb", "E#", "B#"})


@dataclass(frozen=True, kw_only=True)
class Key:
    """A key: spelled tonic, and whether it is minor."""

    tonic: str
    minor: bool = False

    def __str__(self) -> str:
        return f"{self.tonic} {'minor' if self.minor else 'major'}"

    @property
    def tonic_pc(self) -> int:
        return pitch_class_of(self.tonic)


def key_by_number(number: int) -> Key:
    """Key 0..11 is major and 12..23 minor, by tonic pitch class from C."""
    minor, tonic = divmod(number, 12)
    return Key(tonic=(MINOR_TONICS if minor else MAJOR_TONICS)[tonic], minor=bool(minor))


def root_in_key(root_pc: int, key: Key, family: str, *, next_root_pc: int | None = None) -> str:
    """The spelled root of a chord in a key; next_root_pc helps diminished chords."""
    place = fifths(key.tonic)
    leads_up = family == "diminished" and next_root_pc == (root_pc + 1) % 12
    middle = place + (3.5 if leads_up else 0.5)
    name = nearest_spelling(root_pc, middle, low=-9, high=11)
    if name in _UNWRITTEN or len(name) > 2 or (name == "Cb" and place > -6):
        return nearest_spelling(root_pc, middle, low=-6, high=6 if not leads_up else 9)
    return name_at(fifths(name))
