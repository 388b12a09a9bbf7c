"""Roman numerals: chords as degrees of a key, ``IIm9``, ``bII7``, ``V13(b9)``.

A numeral counts in the major scale of the tonic, in minor keys too (the III of C minor is
written bIII). Case is free; a small numeral without a third of its own is minor, so
``ii7`` is ``IIm7``. What follows the numeral is a chord quality as `symbols` reads it.
"""

import re

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.spelling import fifths, name_at, plain_name
from stackline.theory.chords.symbols import parse_symbol

_NUMERAL = re.compile(r"(bb|b|##|#)?(VII|VI|IV|V|III|II|I|vii|vi|iv|v|iii|ii|i)(?![A-Z])")
_STEP_FIFTHS = {"I": 0, "II": 2, "III": 4, "IV": -1, "V": 1, "VI": 3, "VII": 5}
_OWN_THIRD = ("m", "-", "dim", "o", "°", "º", "ø", "Ø", "h", "sus", "aug", "+")
_NAMES = ("I", "bII", "II", "bIII", "III", "IV", "#IV", "V", "bVI", "VI", "bVII", "VII")
_RISING = ("I", "#I", "II", "#II", "III", "IV", "#IV", "V", "#V", "VI", "#VI", "VII")


def is_numeral(word: str) -> bool:
    """Whether a word begins as a numeral does; no chord symbol does."""
    return _NUMERAL.match(word) is not None


def in_key(word: str, tonic: str) -> ChordSymbol:
    """The chord that a numeral means in a key: ``V7`` in ``Eb`` is ``Bb7``.

    tonic: a spelled note. Raises Complaint for a quality that cannot be read.
    """
    found = _NUMERAL.match(word)
    if not found:
        raise Complaint(f"{word!r} is no degree of a key: write I, IIm7, bII7, V13(b9)")
    sign, step = found[1] or "", found[2]
    rest = word[found.end() :]
    if step.islower() and not rest.startswith(_OWN_THIRD):
        rest = "m" + rest
    place = fifths(tonic) + _STEP_FIFTHS[step.upper()] + 7 * (sign.count("#") - sign.count("b"))
    try:
        return parse_symbol(name_at(place) + rest)
    except Complaint:
        raise Complaint(
            f"cannot read {rest!r} after the numeral in {word!r}: "
            "write a quality such as m7, 13(b9), maj9 or 7alt"
        ) from None


def numeral_name(semitones_up: int, *, rising: bool = False) -> str:
    """The plain name of a root that stands some semitones above the tonic.

    rising: name it as a raised degree (#I, #II), as players do with diminished chords.
    """
    return (_RISING if rising else _NAMES)[semitones_up % 12]


def key_name(tonic_pc: int) -> str:
    """A key by its commonest tonic name (see `stackline.theory.chords.spelling`), but F# for Gb.

    The twelve keys of this room are tonics, major or minor, and F# reads well as both.
    """
    return "F#" if tonic_pc % 12 == 6 else plain_name(tonic_pc)


def read_key(text: str) -> int:
    """The pitch class of a key named by a player: ``Eb``, ``F#``, ``Cm`` (mode is dropped).

    Raises Complaint for anything else.
    """
    found = re.fullmatch(r"([A-G])([b#\u266d\u266f]?)\s*(m|min|minor|maj|major)?", text.strip())
    if not found:
        raise Complaint(f"no key is called {text!r}: write C, Eb, F# or the like")
    sign = {"b": -1, "\u266d": -1, "#": 1, "\u266f": 1, "": 0}[found[2]]
    return ({"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[found[1]] + sign) % 12
