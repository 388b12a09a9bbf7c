"""The exact name of a chord whose root and family are known: which quality fits, which bass.

Every quality of the family is weighed against what sounds, and the cheapest is taken:
an unexplained note costs most, then a tension that the name promises and nobody played,
then a missing guide tone; the root and the 5 may be missing freely. A plain 13, m11 or
maj13 may lack its 9: players write G13 for 3 b7 13.

A bass is written under a symbol where the root sounds above another lowest note that lies as low
as a bass (common practice): a triad's from E3 down, a fuller chord's from B2 down. The inversions
that hands play higher up have no bass in their symbol, nor have two guide tones under tensions;
half-diminished and diminished chords are commonly played in inversion.
"""

from collections.abc import Sequence
from functools import cache

from stackline.theory.chords.qualities import QUALITIES, Quality
from stackline.theory.sounding import BASS_TOP, DEEP_TOP

UNEXPLAINED = 3.0  # the price of a note that a name does not have (ours)
# Prices beside UNEXPLAINED (ours).
MISSING_ALTERED, MISSING_NINE, MISSING_GUIDE, MISSING_FREE = 2.2, 0.4, 1.0, 0.05
FREE_FIFTH = 0.3  # price of a triad without its 5 (ours)
NEVER_HEARD = frozenset({
    "7(#5)", "9(#5)", "7(b5)", "9(b5)", "7(13)", "m7(13)", "7sus(13)", "m7(11)", "maj7(13)",
    "maj7(#11,13)", "m7(b13)", "sus2",
})  # names to be read in changes, but never chosen for what was heard  # fmt: skip

WITH_BASS = frozenset({"major", "minor", "dominant", "suspended"})
GUIDES = frozenset({3, 4, 9, 10, 11})  # semitones over the root
PLAIN = GUIDES | {0, 7}  # semitones over the root: no tension among them


def slash_bass(row: Quality, root_pc: int, pitches: Sequence[int]) -> int | None:
    """The pitch class that stands under a chord's symbol, None where no bass is written.

    pitches: rising MIDI pitches of the voicing.
    """
    low = pitches[0]
    over = [(pitch - root_pc) % 12 for pitch in pitches]
    if over[0] == 0 or 0 not in over or row.family not in WITH_BASS:
        return None
    if set(over) <= set(row.intervals) and len(row.intervals) == 3:
        return low % 12 if low <= BASS_TOP else None
    under_tensions = over[0] in GUIDES and over[1] in GUIDES and not set(over) <= PLAIN
    return low % 12 if low < DEEP_TOP and not under_tensions else None


@cache
def name_quality(family: str, sounding: frozenset[int]) -> Quality:
    """The row that names the sounding intervals (0..11 over the root) best."""
    rows = [row for row in QUALITIES if row.family == family and row.key not in NEVER_HEARD]
    return min(rows, key=lambda row: (_cost(row, sounding), len(row.key)))


def _cost(row: Quality, sounding: frozenset[int]) -> float:
    explained = set(row.intervals)
    cost = UNEXPLAINED * len(sounding - explained)
    for degree, interval in zip(row.degrees, row.intervals, strict=True):
        if interval not in sounding:
            cost += _missing(degree, row)
    return cost


def _missing(degree: str, row: Quality) -> float:
    """What a degree that the name promises costs when it does not sound."""
    if degree == "R":
        return MISSING_FREE
    if degree == "5":
        return FREE_FIFTH if row.key in ("", "m") else MISSING_FREE
    if degree in ("3", "b3", "4", "b7", "7", "bb7", "b5", "6"):
        return MISSING_GUIDE
    return MISSING_NINE if degree == "9" else MISSING_ALTERED
