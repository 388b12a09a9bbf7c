"""Notes as a player types them: names with octaves (C4 = 60), or MIDI numbers."""

import re

from stackline.shared.complaint import Complaint
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from stackline.theory.chords.spelling import plain_name, with_octave

_NAME = re.compile(r"([A-G])(bb|##|b|#)?(-?\d)")
_LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}  # semitones above C


def read_notes(text: str) -> tuple[int, ...]:
    """MIDI pitches, rising, each once; raises Complaint for a word that is not a note."""
    words = text.replace(",", " ").replace("\u266d", "b").replace("\u266f", "#").split()
    if not words:
        raise Complaint('no notes given: write "F3 A3 B3 E4", or MIDI numbers, "53 57 59 64"')
    return tuple(sorted({read_note(word) for word in words}))


def read_note(word: str) -> int:
    """One MIDI pitch; the octave's number follows the letter, so Cb4 is 59."""
    found = _NAME.fullmatch(word)
    if word.isdecimal() and len(word) <= 3:
        midi = int(word)
    elif found:
        name = found[1] + (found[2] or "")
        altered = name.count("#") - name.count("b")
        midi = 12 * (int(found[3]) + 1) + _LETTERS[found[1]] + altered
    else:
        raise Complaint(
            f"{word!r} is not a note: write F3, Bb4, F#2 (C4 is middle C), or a MIDI number"
        )
    if not LOWEST_MIDI <= midi <= HIGHEST_MIDI:
        raise Complaint(f"{word!r} is not on the piano: allowed are A0 to C8 (MIDI 21 to 108)")
    return midi


def note_name(midi: int) -> str:
    """A pitch by its plain name: ``C4``, ``Bb2``."""
    return with_octave(plain_name(midi % 12), midi)
