"""Roman numerals: chords as degrees of a key, ``IIm9``, ``bII7``, ``V13(b9)``, ``V7/V``.

A numeral counts in the major scale of the tonic, in minor keys too (the III of C minor is
written bIII). Case is free; a small numeral without a third of its own is minor, so
``ii7`` is ``IIm7``. What follows the numeral is a chord quality as `symbols` reads it. After a
slash stands the degree that the chord leads to: V7/V is the V7 of the V, and so are its ii and
its diminished vii (common practice); any other chord over a numeral could mean a bass, and is
refused.
"""

import re

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.spelling import fifths, name_at
from stackline.theory.chords.symbols import parse_symbol

_STEP = r"(bb|b|♭|##|#|♯)?(VII|VI|IV|V|III|II|I|vii|vi|iv|v|iii|ii|i)(?![A-LN-Z])"
_NUMERAL = re.compile(_STEP)
_LEADS = re.compile(rf"(?P<chord>.+)/(?P<to>{_STEP})(?:m|-)?$")
_SUBSTITUTE = re.compile(r"(?i:sub)\s?V(?=\d|/|$|\()")
# Fifths above the tonic of a major key.
_STEP_FIFTHS = {"I": 0, "II": 2, "III": 4, "IV": -1, "V": 1, "VI": 3, "VII": 5}
_OWN_THIRD = ("m", "-", "dim", "o", "°", "º", "ø", "Ø", "h", "sus", "aug", "+")
_SIGNS = {"♭": "b", "♯": "#"}


def is_numeral(word: str) -> bool:
    """Whether a word begins as a numeral does; no chord symbol does."""
    return _NUMERAL.match(word) is not None or _SUBSTITUTE.match(word) is not None


def in_key(word: str, tonic: str) -> ChordSymbol:
    """The chord that a numeral means in a key: ``V7`` in ``Eb`` is ``Bb7``.

    tonic: a spelled note. Raises Complaint for a quality that cannot be read.
    """
    word = _SUBSTITUTE.sub("bII", word)
    leads = _LEADS.match(word)
    if leads:
        return _leading(word, leads["chord"], leads["to"], tonic)
    found = _NUMERAL.match(word)
    if not found:
        raise Complaint(f"{word!r} is no degree of a key: write I, IIm7, bII7, V13(b9)")
    rest = word[found.end() :]
    if found[2].islower() and not rest.startswith(_OWN_THIRD):
        rest = "m" + rest
    try:
        return parse_symbol(_root(found, tonic) + rest)
    except Complaint:
        raise Complaint(
            f"cannot read {rest!r} after the numeral in {word!r}: "
            "write a quality such as m7, 13(b9), maj9 or 7alt"
        ) from None


def _leading(word: str, chord: str, to: str, tonic: str) -> ChordSymbol:
    """``V7/ii``: a chord that leads to a degree, counted in the key of that degree."""
    target, own = _NUMERAL.match(to), _NUMERAL.match(chord)
    step = own[2].upper() if own else ""
    sign = own[1] or "" if own else ""
    if not target or (sign, step) not in {("", "V"), ("", "II"), ("", "VII"), ("b", "II")}:
        raise Complaint(
            f"{word!r} could be a bass or a chord that leads on: write V7/II, IIm7/II or "
            "VIIdim7/II for what leads to a degree, and the chord's own numeral for all else"
        )
    return in_key(chord, _root(target, tonic))


def _root(found: re.Match[str], tonic: str) -> str:
    sign = "".join(_SIGNS.get(one, one) for one in found[1] or "")
    shift = sign.count("#") - sign.count("b")
    return name_at(fifths(tonic) + _STEP_FIFTHS[found[2].upper()] + 7 * shift)
