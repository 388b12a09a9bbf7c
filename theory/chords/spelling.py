"""Spelling: note names by the line of fifths, ASCII in data, real signs on the page.

The line of fifths is ... Bb F C G D A E B F# ...; C stands at 0, a sharp is 7 further right.
A chord tone is its root moved by its degree along that line, so the third of Ab is C and
its minor third is Cb, never B. Names with more than two accidentals are respelled plainly.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Literal

from stackline.shared.harmony import ACCIDENTALS, Degree

_LETTERS = "FCGDAEB"  # the line of fifths from -1 to 5
_LETTER_PC = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}  # semitones above C
# Fifths above the root, of degrees as in a major scale.
_DEGREE_FIFTHS = {1: 0, 2: 2, 3: 4, 4: -1, 5: 1, 6: 3, 7: 5}
_SIGNS = {"b": "\u266d", "#": "\u266f"}
SHARP_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
Spelling = Literal["key", "flats", "sharps"]
_SPELLING: ContextVar[Spelling] = ContextVar("spelling", default="key")
PLAIN_NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")


def fifths(name: str) -> int:
    """Where a note name stands on the line of fifths: ``C`` 0, ``G`` 1, ``Bb`` -2."""
    return _LETTERS.index(name[0]) - 1 + 7 * (name.count("#") - name.count("b"))


def name_at(place: int) -> str:
    """The note name at a place on the line of fifths, at most two accidentals.

    Places beyond that are respelled enharmonically, 12 steps nearer to C.
    """
    while not -15 <= place <= 19:  # Fbb .. B##
        place += 12 if place < 0 else -12
    accidentals, letter = divmod(place + 1, 7)
    return _LETTERS[letter] + ACCIDENTALS[accidentals]


def pitch_class_of(name: str) -> int:
    """Pitch class 0..11 of a spelled note: ``C`` 0, ``Cb`` 11."""
    return (_LETTER_PC[name[0]] + name.count("#") - name.count("b")) % 12


@contextmanager
def spelled_with(spelling: Spelling) -> Iterator[None]:
    """Spell roots, keys and lone notes with flats or sharps, or by their key, while this lasts."""
    token = _SPELLING.set(spelling)
    try:
        yield
    finally:
        _SPELLING.reset(token)


def asked_spelling() -> Spelling:
    """What was asked for by `spelled_with`; by the key if nothing was."""
    return _SPELLING.get()


def plain_name(pc: int) -> str:
    """A pitch class by its commonest name among jazz roots (flats; common practice).

    Sharps where they were asked for.
    """
    return (SHARP_NAMES if asked_spelling() == "sharps" else PLAIN_NAMES)[pc % 12]


def single_accidental(name: str) -> str:
    """A note name without double accidentals: what one reads at sight (``Bbb`` is ``A``)."""
    if len(name) < 3:
        return name
    return name_at(fifths(name) + (12 if "b" in name else -12))


def spell_degree(root: str, degree: Degree) -> str:
    """The name of a degree over a spelled root: the b9 of ``G`` is ``Ab``."""
    number = (degree.number - 1) % 7 + 1
    return name_at(fifths(root) + _DEGREE_FIFTHS[number] + 7 * degree.alteration)


def with_octave(name: str, midi: int) -> str:
    """A name with its octave, C4 = 60; the number follows the letter, so 59 is ``Cb4``."""
    altered = name.count("#") - name.count("b")
    return f"{name}{(midi - altered) // 12 - 1}"


def nearest_spelling(pc: int, place: float, *, low: int = -7, high: int = 7) -> str:
    """The name of a pitch class that stands nearest to a place on the line of fifths.

    Only names between `low` and `high` (Cb .. C# by default) are considered.
    """
    home = pc * 7 % 12
    places = [home + 12 * turn for turn in (-2, -1, 0, 1) if low <= home + 12 * turn <= high]
    return name_at(min(places, key=lambda one: abs(one - place)))


def with_signs(text: str) -> str:
    """ASCII accidentals as real signs, for print: ``Gb13(b9)`` to ``G♭13(♭9)``.

    For chord symbols, note names, degrees and Roman numerals, not for prose: a ``b`` or
    ``#`` is an accidental after a note letter or before a number or numeral.
    """
    shown: list[str] = []
    for i, sign in enumerate(text):
        before, after = text[i - 1 : i], text[i + 1 : i + 2]
        is_sign = sign in _SIGNS and (
            (before != "" and before in "ABCDEFG")
            or (after != "" and (after.isdigit() or after in "IViv"))
            or (before in ("b", "#") and before != "" and shown[-1] in _SIGNS.values())
            or (after == sign and text[i + 2 : i + 3].isdigit())
        )
        shown.append(_SIGNS[sign] if is_sign else sign)
    return "".join(shown)
