"""Chord symbols: read what players write, print one canonical form.

The canonical form is root, key of `qualities`, and ``/bass`` where a bass is
written: ``G13(b9)``, ``Bbm7/Eb``. Printing and parsing again is the identity over the
whole table. Letters are English; German B and H only by option.
"""

import re
from functools import cache

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol, Degree
from stackline.theory.chords.chord_grammar import SpellingError, degrees_of
from stackline.theory.chords.degrees import semitones
from stackline.theory.chords.qualities import QUALITIES, Quality, quality
from stackline.theory.chords.spelling import pitch_class_of

_ROOT = re.compile(r"([A-H])(bb|##|b|#|♭♭|♯♯|♭|♯)?")
_BASS = re.compile(r"/\s*([A-Ha-h](?:bb|##|b|#|♭|♯)?)$")


def make_symbol(root: str, key: str, bass: str | None = None) -> ChordSymbol:
    """The symbol of a spelled root and a quality's key; bass None or a spelled note.

    Raises KeyError for a key that is not in the table.
    """
    row = quality(key)
    slash = f"/{bass}" if bass and bass != root else ""
    harte_bass = f"/{_bass_degree(root, bass)}" if slash and bass else ""
    return ChordSymbol(
        root=root,
        quality=key,
        bass=bass if slash else None,
        text=f"{root}{key}{slash}",
        harte=f"{root}:{row.harte}{harte_bass}",
    )


def _bass_degree(root: str, bass: str) -> str:
    """A bass as Harte writes it: a degree 1..7 of the root's major scale, with b or #."""
    steps = "CDEFGAB"
    number = (steps.index(bass[0]) - steps.index(root[0])) % 7 + 1
    natural = semitones(Degree(number=number))
    shift = (pitch_class_of(bass) - pitch_class_of(root) - natural + 6) % 12 - 6
    return ("b" * -shift if shift < 0 else "#" * shift) + str(number)


@cache
def _spelled_qualities() -> dict[str, Quality]:
    """Keys and aliases that need no grammar."""
    found: dict[str, Quality] = {}
    for row in QUALITIES:
        for text in (row.key, *row.aliases):
            found.setdefault(text, row)
    return found


@cache
def _by_degrees() -> dict[frozenset[str], Quality]:
    """Rows by their set of degrees."""
    return {frozenset(row.degrees): row for row in QUALITIES}


def parse_symbol(text: str, *, german: bool = False) -> ChordSymbol:
    """Read one chord symbol, such as ``F#m7b5``, ``Bb13(b9)``, ``C6/9``, ``Dm7/G``.

    german: read B as Bb and H as B. Raises Complaint with the fault underlined.
    """
    try:
        return parse_plainly(text.strip(), german)
    except SpellingError as error:
        raise Complaint(underlined(text.strip(), error)) from None


def underlined(text: str, error: SpellingError, *, line: str = "", offset: int = 0) -> str:
    """The sentence of a fault in a symbol, and the text with the fault underlined.

    line, offset: the text shown and where the symbol stands in it; the symbol alone if
    left out.
    """
    shown = line or text
    start, end = error.start + offset, error.end + offset
    mark = " " * start + "^" + "~" * (end - start - 1)
    return f"cannot read the chord {text!r}: expected {error.expected}\n    {shown}\n    {mark}"


def parse_plainly(text: str, german: bool) -> ChordSymbol:
    """Root, then quality, then bass; raises SpellingError with places in `text`."""
    found = _ROOT.match(text)
    if not found or (found[1] == "H" and not german):
        raise SpellingError("a root A to G, such as C, Bb or F#", 0, 1)
    body, bass = text[found.end() :], None
    slash = _BASS.search(text, found.end())
    if slash:
        bass = _note(slash[1][0].upper() + slash[1][1:], german)
        if slash[1][0] in "Hh" and not german:
            raise SpellingError("a bass note A to G", slash.start(1), slash.end(1))
        body = text[found.end() : slash.start()]
    row = _spelled_qualities().get(body) or _lookup(body, found.end())
    return make_symbol(_note(found[0], german), row.key, bass)


def _note(text: str, german: bool) -> str:
    """A note name in ASCII and in English letters."""
    name = text.replace("♭", "b").replace("♯", "#")
    if german and name[0] in "BH":
        name = ("B" + name[1:]) if name[0] == "H" else ("Bb" if name == "B" else name)
    return name


def _lookup(body: str, offset: int) -> Quality:
    """The row of a spelled-out quality by the degrees that it means."""
    try:
        degrees = degrees_of(body)
    except SpellingError as error:
        raise SpellingError(error.expected, error.start + offset, error.end + offset) from None
    row = _by_degrees().get(degrees)
    if row is None:
        listed = " ".join(sorted(degrees, key=lambda one: (semitones(one), one)))
        raise SpellingError(
            f"a chord of the table; {listed} is none of them", offset, offset + len(body)
        )
    return row
