"""Keys, and how a chord root is spelled in one: the one place for every room.

Twelve major and twelve minor keys, each by its commonest name. A root takes the name within the
key's window on the line of fifths, from the b2 to the #4: in F the chord on pitch class 6 is Gb, in
D it is F#. Then common practice:

* Names that nobody writes over a chord (double accidentals, Fb, E#, B#) are respelled, and Cb but
  for the IV of Gb. Minor chords on Gb and Cb would need double flats: F#m, Bm.
* A diminished chord that leads up by a semitone takes the raised name: C#dim7 before Dm7.
* A dominant that leads down by a semitone stands a letter above: Gb7 before F, never F#7; one on a
  black key that leads nowhere near, and major chords, take the flat name: Eb13, Dbmaj9.

A player may ask for flats or sharps throughout (`spelled_with` of `theory.chords.spelling`); the
keys that can be written then follow, too.
"""

from dataclasses import dataclass

from stackline.theory.chords.spelling import (
    asked_spelling,
    fifths,
    name_at,
    nearest_spelling,
    pitch_class_of,
    plain_name,
)

MAJOR_TONICS = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
MINOR_TONICS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
_PAIRS = {  # keys with two names and at most seven signs: flat, sharp
    False: {1: ("Db", "C#"), 6: ("Gb", "F#"), 11: ("Cb", "B")},
    True: {3: ("Eb", "D#"), 8: ("Ab", "G#"), 10: ("Bb", "A#")},
}
_UNWRITTEN = frozenset({"Fb", "E#", "B#"})
_FLATTED = frozenset({"C#", "D#", "G#", "A#"})
ROOTS_OVER_TONIC = 1.0  # where the roots of a key lie on the whole, in fifths over its tonic


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


def tonic_name(tonic_pc: int, *, minor: bool = False) -> str:
    """What a key is called: its commonest name, or the flat or sharp one that was asked for."""
    spelling = asked_spelling()
    pair = _PAIRS[minor].get(tonic_pc % 12)
    if spelling == "key" or pair is None or pair[0] == "Cb":
        return (MINOR_TONICS if minor else MAJOR_TONICS)[tonic_pc % 12]
    return pair[0 if spelling == "flats" else 1]


def key_by_number(number: int, *, near: float | None = None) -> Key:
    """Key 0..11 is major and 12..23 minor, by tonic pitch class from C.

    near: where the roots of its chords lie on the line of fifths on the whole; of two names the
    one that suits them is taken.
    """
    minor, tonic = divmod(number, 12)
    name = tonic_name(tonic, minor=bool(minor))
    pair = _PAIRS[bool(minor)].get(tonic)
    if near is not None and pair is not None:
        usual = [name] + [one for one in pair if one != name]
        name = min(usual, key=lambda one: abs(fifths(one) + ROOTS_OVER_TONIC - near))
    return Key(tonic=name, minor=bool(minor))


def root_in_key(
    root_pc: int,
    key: Key,
    family: str,
    *,
    next_root_pc: int | None = None,
    last_root_pc: int | None = None,
) -> str:
    """The spelled root of a chord in a key; the roots of its neighbours help where known."""
    if asked_spelling() != "key":
        return plain_name(root_pc)
    place = fifths(key.tonic)
    up, down = (root_pc + 1) % 12, (root_pc - 1) % 12
    leads_up = family == "diminished" and (
        next_root_pc == up or (next_root_pc is None and last_root_pc == down)
    )
    middle = place + (3.5 if leads_up else 0.5)
    name = nearest_spelling(root_pc, middle, low=-9, high=11)
    if name in _UNWRITTEN or len(name) > 2 or (name == "Cb" and place > -6):
        name = nearest_spelling(root_pc, middle, low=-6, high=6 if not leads_up else 9)
    return _without_doubles(name, place, family, (next_root_pc - root_pc) % 12
                            if next_root_pc is not None else None)  # fmt: skip


def _without_doubles(name: str, place: int, family: str, step: int | None) -> str:
    """The name that players write for a root; step: semitones up to the next root, if known."""
    if name in ("Gb", "Cb") and family == "minor":
        return "F#" if name == "Gb" else "B"
    if name == "Cb" and family != "major":
        return "B"
    if family in ("dominant", "suspended") and "#" in name:
        down_a_semitone, up_a_fourth = step == 11, step == 5
        if down_a_semitone or (name in _FLATTED and not up_a_fourth):
            return name_at(fifths(name) - 12)
    if family == "major" and name in _FLATTED and place < 6:
        return name_at(fifths(name) - 12)
    return name
