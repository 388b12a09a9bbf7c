"""Low interval limits: how low an interval may lie before it sounds muddy.

LIMITS: interval in semitones -> lowest MIDI note that may be its bottom (C4 = 60), converted
from sweetwater.com's table of low interval limits; filmmusictheory.com agrees on the minor
third. Where a bass below is known, the interval from it is tested too (after Lowell and Pullig,
Arranging for Large Jazz Ensemble); a root that nobody plays muddies nothing. These are
warnings, not faults, and the table is a setting.
"""

import itertools
from collections.abc import Mapping, Sequence

LIMITS: Mapping[int, int] = {
    1: 52, 2: 51, 3: 48, 4: 47, 5: 45, 6: 35, 7: 37, 8: 41, 9: 41, 10: 41, 11: 41,
}  # fmt: skip
_NAMES = (
    "unison", "minor 2nd", "major 2nd", "minor 3rd", "major 3rd", "4th", "tritone",
    "5th", "minor 6th", "major 6th", "minor 7th", "major 7th",
)  # fmt: skip


def low_warnings(
    pitches: Sequence[int],
    names: Sequence[str],
    *,
    bass_pc: int | None = None,
    limits: Mapping[int, int] = LIMITS,
) -> tuple[str, ...]:
    """A sentence for each neighbour pair that lies too low, a known bass included.

    pitches: rising MIDI; names: the same notes with octaves, for the sentences. bass_pc: pitch
    class of what is played below, None where nothing is.
    """
    found = []
    for i, (low, high) in enumerate(itertools.pairwise(pitches)):
        if low < limits.get(high - low, 0):
            found.append(f"the {_NAMES[high - low]} {names[i]}-{names[i + 1]} lies low")
    if pitches and bass_pc is not None and pitches[0] % 12 != bass_pc:
        step = (pitches[0] - bass_pc) % 12
        if pitches[0] - step < limits.get(step, 0):
            found.append(f"low for the bass below: the {_NAMES[step]} up to {names[0]} lies low")
    return tuple(found)
