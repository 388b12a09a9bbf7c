"""Names of keys and of degrees of a key, as this room prints them; `roman` reads numerals."""

import re

from stackline.shared.complaint import Complaint
from stackline.theory.chords.keys import tonic_name

_NAMES = ("I", "bII", "II", "bIII", "III", "IV", "#IV", "V", "bVI", "VI", "bVII", "VII")
_RISING = ("I", "#I", "II", "#II", "III", "IV", "#IV", "V", "#V", "VI", "#VI", "VII")


def numeral_name(semitones_up: int, *, rising: bool = False) -> str:
    """The plain name of a root that stands some semitones above the tonic.

    rising: name it as a raised degree (#I, #II), as players do with diminished chords.
    """
    return (_RISING if rising else _NAMES)[semitones_up % 12]


def key_name(tonic_pc: int, *, minor: bool = False) -> str:
    """A key by its tonic, as every room calls it (`stackline.theory.chords.keys`).

    minor: where the mode is known; the twelve keys by themselves are called as major ones are.
    """
    return tonic_name(tonic_pc, minor=minor)


def read_key(text: str) -> int:
    """The pitch class of a key named by a player in any case: ``Eb``, ``f#``, ``Cm``.

    The mode is dropped.

    Raises Complaint for anything else.
    """
    typed = text.strip()
    found = re.fullmatch(
        r"([A-G])([b#\u266d\u266f]?)\s*(m|min|minor|maj|major)?", typed, re.IGNORECASE
    )
    if not found:
        raise Complaint(f"no key is called {text!r}: write C, Eb, F# or the like")
    sign = {"b": -1, "\u266d": -1, "#": 1, "\u266f": 1, "": 0}[found[2].lower()]
    letters = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    return (letters[found[1].upper()] + sign) % 12
