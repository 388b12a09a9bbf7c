"""What a small root letter means in changes: a minor chord, or a capital typed in haste.

Both are written (common practice): ``a d7 G7 C`` has small letters for minor chords, ``dm7 g7
cmaj7`` is typed without the shift key. The text as a whole decides, and where it does not, the
chord is refused:

    with its own third (``dm7``, ``cmaj7``, ``bo``)    the capital, whatever else is written
    capitals beside it, no ``m`` anywhere              minor
    no capital, and an ``m`` somewhere                 the capital
    else                                               could be both
"""

import re
from collections.abc import Sequence

_SMALL = re.compile(r"([a-h])(bb|##|[b#♭♯](?!\d)|b(?=\d))?(.*)", re.DOTALL)
_CAPITAL = re.compile(r"[A-H](?![a-z]{3})")
_MINOR = re.compile(r"[A-Ha-h][b#♭♯]?(?:m(?!aj)|min|mi|-)")
_TENSION = re.compile(r"b(5|6|9|13)")  # beside a chord this may be one of its tensions
_OWN_THIRD = re.compile(r"(?:m|-|maj|M|\^|Δ|△|dim|o|°|º|ø|Ø|h|sus|aug|\+)")


class BothWays(ValueError):
    """A small letter that may be read in two ways; the two spellings."""

    def __init__(self, minor: str, capital: str) -> None:
        super().__init__(minor, capital)
        self.minor, self.capital = minor, capital


class LowerCase:
    """The convention of one text, found from all of its chords."""

    def __init__(self, chords: Sequence[str]) -> None:
        self._capitals = any(_CAPITAL.match(one) for one in chords)
        self._minors = any(_MINOR.match(one) for one in chords)

    def spelled(self, chord: str) -> str:
        """A chord with its root as a capital; raises BothWays where two readings are left."""
        small = _SMALL.fullmatch(chord)
        if not small:
            return chord
        root, sign, rest = small[1].upper(), small[2] or "", small[3]
        capital, minor = f"{root}{sign}{rest}", f"{root}{sign}m{rest}"
        if _OWN_THIRD.match(rest):
            return capital
        if self._capitals == self._minors or _TENSION.fullmatch(chord):
            raise BothWays(minor, capital)
        return minor if self._capitals else capital
