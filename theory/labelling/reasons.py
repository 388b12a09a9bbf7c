"""Why another reading of the same notes was, or was not, chosen: in words, from facts.

Each sentence is put together from what was measured: the distance of the roots, the notes
that a reading leaves unexplained or misses, what the notes alone would favour, and
whether a bass was heard.
"""

from dataclasses import dataclass

from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.degrees import name_degree
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of, plain_name

DISTANCES = {
    1: "a semitone up", 2: "a whole step up", 3: "a minor third up", 4: "a major third up",
    5: "a fourth up", 6: "a tritone away", 7: "a fifth up", 8: "a major third down",
    9: "a minor third down", 10: "a whole step down", 11: "a semitone down",
}  # fmt: skip
SAME_NOTES, NOTES_FIT = "the same notes are", "the notes fit"  # how a stated tie begins
_GUIDES = {"3", "b3", "4", "b7", "7", "bb7"}


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """What is known when a reading is compared with the chosen one.

    classes: sounding pitch classes. notes_favour: whether the notes alone score the other
    reading above the chosen one. bass_pc: a bass that was heard with the chord, or None.
    past_favours: whether notes and chords up to here, without what follows, favour the other
    reading; is_first: whether nothing comes before.
    """

    classes: frozenset[int]
    notes_favour: bool
    bass_pc: int | None = None
    past_favours: bool = False
    is_first: bool = False


def _over(symbol: ChordSymbol, classes: frozenset[int]) -> frozenset[int]:
    root = pitch_class_of(symbol.root)
    return frozenset((pc - root) % 12 for pc in classes)


def unexplained(symbol: ChordSymbol, classes: frozenset[int]) -> tuple[str, ...]:
    """Degrees that sound but are not in the named chord."""
    row = quality(symbol.quality)
    over = _over(symbol, classes)
    extra = sorted(over - set(row.intervals))
    return tuple(str(name_degree(one, row.family, over)) for one in extra)


def missing(symbol: ChordSymbol, classes: frozenset[int]) -> tuple[str, ...]:
    """Guide tones of the named chord that do not sound."""
    row = quality(symbol.quality)
    over = _over(symbol, classes)
    pairs = zip(row.degrees, row.intervals, strict=True)
    return tuple(degree for degree, one in pairs if degree in _GUIDES and one not in over)


def reason(other: ChordSymbol, chosen: ChordSymbol, evidence: Evidence) -> str:
    """One clause or two on `other` beside `chosen`."""
    return f"{_relation(other, chosen, evidence.classes)}; {_verdict(other, chosen, evidence)}"


def _relation(other: ChordSymbol, chosen: ChordSymbol, classes: frozenset[int]) -> str:
    step = (pitch_class_of(other.root) - pitch_class_of(chosen.root)) % 12
    where = DISTANCES.get(step, "on the same root")
    extra, lacking = unexplained(other, classes), missing(other, classes)
    if extra:
        return f"{other.text}, {where}, would leave its {' and '.join(extra)} unexplained"
    if lacking:
        return f"{NOTES_FIT} {other.text}, {where}, without its {' and '.join(lacking)}"
    return f"{SAME_NOTES} {other.text}, {where}"


def _verdict(other: ChordSymbol, chosen: ChordSymbol, evidence: Evidence) -> str:
    """What speaks between the two readings."""
    roots = {pitch_class_of(other.root): other, pitch_class_of(chosen.root): chosen}
    if evidence.bass_pc in roots and len(roots) == 2 and evidence.bass_pc is not None:
        bass = plain_name(evidence.bass_pc)
        speaker = "this reading" if roots[evidence.bass_pc] is other else chosen.text
        return f"the {bass} in the bass speaks for {speaker}"
    if evidence.notes_favour:
        return "the notes alone would favour it, the chords before and after do not"
    if not unexplained(other, evidence.classes) and not missing(other, evidence.classes):
        if pitch_class_of(other.root) == pitch_class_of(chosen.root):
            return "the other notes and the context decide"
        return _context_verdict(evidence)
    return "both the notes and the context favour it less"


def _context_verdict(evidence: Evidence) -> str:
    """Which chords decide between two readings of the same notes."""
    if evidence.past_favours:
        return "the chords that follow decide"
    if evidence.is_first:
        return "it is the rarer chord, and what follows does not speak for it"
    return "the chords before decide"
