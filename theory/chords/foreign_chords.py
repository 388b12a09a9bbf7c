"""Chords of a take that came from elsewhere: are they ones that this program can explain?

The JSON of a take is a format that other programs may write; its symbols are free text, and
a root or a quality outside `qualities` has no degrees that anything could be said of.
Checked once, where such a take comes in, so that everything behind may rely on the table.
"""

import re
from collections.abc import Iterator, Sequence
from difflib import get_close_matches

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol, Voicing
from stackline.shared.units import clock
from stackline.theory.chords.qualities import by_key

_NOTE = re.compile(r"[A-G](bb?|##?)?")
_EXAMPLES = ("m9", "13(b9)", "maj7")


def check_chords(voicings: Sequence[Voicing]) -> None:
    """Raise Complaint, with the place of the chord, for the first that is not in the table."""
    for number, voicing in enumerate(voicings, 1):
        for symbol in _symbols(voicing):
            fault = _fault(symbol)
            if fault:
                where = f"voicing {number} at {clock(voicing.attack.onset_s)}"
                raise Complaint(f"{where}: {fault}")


def is_known(symbol: ChordSymbol) -> bool:
    """Whether root and quality of a symbol are ones that theory can work with."""
    return not _fault(symbol)


def _symbols(voicing: Voicing) -> Iterator[ChordSymbol]:
    yield voicing.chord.symbol
    for other in voicing.chord.alternatives:
        yield other.symbol


def _fault(symbol: ChordSymbol) -> str:
    """What is wrong with a symbol, in words; empty where nothing is."""
    for name, what in ((symbol.root, "root"), (symbol.bass or symbol.root, "bass")):
        if not _NOTE.fullmatch(name):
            return f"{name!r} is not the {what} of a chord; write a note such as C, F# or Bb"
    if symbol.quality in by_key():
        return ""
    near = get_close_matches(symbol.quality, list(by_key()), n=3) or _EXAMPLES
    return f"{symbol.quality!r} is not a known chord quality; write {', '.join(near)} or the like"
