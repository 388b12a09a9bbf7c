"""Chords that few lists hold: modal fourths, pedals, polychords, tenths, clusters, line cliches.

Stacks and roots are common practice unless a source stands beside them. Not all are read as they
are meant; how many must be is said, and each of the others may change without harm.
"""

from tests.theory.labelling.test_known_cases import KEYS, heard, named

LEAST = 0.8

# Stacks, which of them is asked, and its root over C.
SPECIAL = {
    # the stack of five, piano.org/theory/so-what-voicings
    "five notes in fourths, up a mode's step": (["D3 G C F A", "E3 A D G B", "D3 G C F A"], 1, 4),
    "and back": (["D3 G C F A", "E3 A D G B", "D3 G C F A"], 2, 2),
    "three fourths over a minor tonic": (["D3 A D F A", "D3 G C F", "E3 A D G", "D3 G C F"], 1, 2),
    "side-slip of fourths": (["D3 G C F A", "Eb3 Ab Db Gb Bb", "D3 G C F A"], 2, 2),
    "IV over V": (["D3 F A C", "G2 F3 A C", "C3 E G B"], 1, 7),
    "ii over V": (["G2 F3 A C D", "C3 E G B"], 0, 7),
    "bII over a tonic pedal and back": (["C3 E G B", "C3 Db F Ab", "C3 E G B"], 2, 0),
    "V over a tonic pedal": (["C2 E3 G B D", "C2 F3 G B D", "C2 E3 G B D"], 1, 7),
    "I over its third": (["C3 E G C", "E3 G C", "F3 A C", "G3 B D", "C3 G C E"], 1, 0),
    # polychords and upper structures, johncarlosbaez.wordpress.com/2023/02/16
    "II over 7": (["G3 Bb D F", "C3 E Bb D F# A", "F3 A C E"], 1, 0),
    "VI over 7": (["G3 Bb D F", "C3 E Bb C# E A", "F3 A C E"], 1, 0),
    "bVI over 7": (["G3 Bb Db F", "C3 E Bb Eb Ab C", "F3 Ab C D"], 1, 0),
    "bIII over 7": (["G3 Bb Db F", "C3 E Bb Eb G Bb", "F3 Ab C D"], 1, 0),
    "bV over 7": (["G3 Bb D F", "C3 E Bb Db F# Bb", "F3 A C E"], 1, 0),
    "#iv over guide tones": (["G3 Bb D F", "E3 Bb Db F# A", "F3 A C E"], 1, 0),
    "bii over guide tones": (["G3 Bb Db F", "E3 Bb Db E Ab", "Eb3 Ab C D"], 1, 0),
    "II over maj7": (["C3 E G B", "C3 G B D F# A"], 1, 0),
    "root and tenth after its V": (["F2 Eb3 A", "Bb2 D4", "Bb2 F3 D A"], 1, 10),
    "walking tenths": (["C3 E4", "D3 F4", "E3 G4", "F3 A4"], 2, 4),
    "spread maj7": (["D2 C3 F A", "G2 F3 B E", "C2 B2 E G"], 2, 0),
    "cluster of a m9": (["C3 Eb F G", "Bb3 C D Eb", "A3 C Eb F"], 1, 0),
    "cluster of a maj9": (["F3 A B E", "B3 D E G", "C3 E G"], 1, 0),
    "cluster of a 13": (["C4 D F A", "A3 B E F", "G3 B D E"], 1, 7),
    "augmented on the way to 6": (["C3 G C E", "C3 G# C E", "C3 A C E", "C3 Bb C E"], 1, 0),
    "minor with b6 and 6 in the line": (["A2 E3 A C", "A2 F3 A C", "A2 F#3 A C"], 2, 9),
}  # fmt: skip


def test_four_of_five_special_chords_have_their_root() -> None:
    """In every key alike."""
    right = [
        named(heard(texts, up)[which], up)[0] == root
        for texts, which, root in SPECIAL.values()
        for up in KEYS
    ]
    assert sum(right) / len(right) >= LEAST
