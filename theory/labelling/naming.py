"""The exact quality of a chord whose root and family are known: which name fits the notes.

Every quality of the family is weighed against what sounds, and the cheapest is taken:
an unexplained note costs most, then a tension that the name promises and nobody played,
then a missing guide tone; the root and the 5 may be missing freely. A plain 13, m11 or
maj13 may lack its 9: players write G13 for 3 b7 13.
"""

from functools import cache

from stackline.theory.chords.qualities import QUALITIES, Quality

UNEXPLAINED = 3.0  # the price of a note that a name does not have (ours)
# Prices beside UNEXPLAINED (ours).
MISSING_ALTERED, MISSING_NINE, MISSING_GUIDE, MISSING_FREE = 2.2, 0.4, 1.0, 0.05
FREE_FIFTH = 0.3  # price of a triad without its 5 (ours)
NEVER_HEARD = frozenset({
    "7(#5)", "9(#5)", "7(b5)", "9(b5)", "7(13)", "m7(13)", "7sus(13)", "m7(11)", "maj7(13)",
    "maj7(#11,13)", "m7(b13)", "sus2",
})  # names to be read in changes, but never chosen for what was heard  # fmt: skip


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
