"""Where a bass puts a chord's root: one key for each, between E1 and Eb2.

E1 is the lowest string of a double bass (common practice); a rootless voicing is heard as its
chord as soon as this key sounds below it.
"""

from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.spelling import pitch_class_of

LOWEST = 28  # MIDI, E1


def root_key(root_pc: int) -> int:
    """The key of a pitch class 0..11, MIDI 28..39."""
    return LOWEST + (root_pc - LOWEST) % 12


def bass_key(symbol: ChordSymbol) -> int:
    """The key under a chord: its written bass, or its root."""
    return root_key(pitch_class_of(symbol.bass or symbol.root))
