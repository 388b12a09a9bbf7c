"""Parallel movement: a whole stack shifted.

Constant structure: every voice by the same number of semitones. Diatonic parallel: every
voice by the same number of letters, within one scale, not all by the same semitones.
Side-slip: a constant structure by a semitone away and back within two attacks or two
beats, or an approach by a semitone on a weak place, or the middle of a chain A, A+1, A+2.
Stacks of two notes are too common a move to be called parallel.
"""

from collections.abc import Sequence
from itertools import pairwise

from stackline.shared.harmony import Parallel, ParallelKind, Voicing

FEWEST = 3  # notes (ours)
SLIP_BEATS = 2.0  # how long a stack may stay away (ours)


def constant_shift(before: Sequence[int], after: Sequence[int]) -> int | None:
    """The one shift of all voices (not 0), or None."""
    if len(before) != len(after) or len(before) < FEWEST:
        return None
    shifts = {b - a for a, b in zip(before, after, strict=True)}
    return shifts.pop() if len(shifts) == 1 and 0 not in shifts else None


def diatonic_shift(before: Voicing, after: Voicing) -> int | None:
    """The lowest voice's semitones if every voice moves by the same number of letters.

    Both stacks' letters must carry one accidental each (they lie in one scale).
    """
    if len(before.tones) != len(after.tones) or len(before.tones) < FEWEST:
        return None
    steps = {
        _staff(b.name) - _staff(a.name) for a, b in zip(before.tones, after.tones, strict=True)
    }
    names = {tone.name.rstrip("0123456789-") for tone in before.tones + after.tones}
    one_scale = len({name[0] for name in names}) == len(names)
    if len(steps) == 1 and 0 not in steps and one_scale:
        return after.pitches[0] - before.pitches[0]
    return None


def _staff(name: str) -> int:
    """Height on the staff, in letters from C0."""
    octave = int(name.lstrip("ABCDEFG#b"))
    return "CDEFGAB".index(name[0]) + 7 * octave


def parallels(voicings: Sequence[Voicing], beat_s: float | None) -> list[Parallel | None]:
    """For each pair of neighbours its parallel, or None.

    beat_s: length of a beat in seconds, None without a pulse (then attacks count).
    """
    shifts = [constant_shift(a.pitches, b.pitches) for a, b in pairwise(voicings)]
    slips = _side_slips(voicings, shifts, beat_s)
    found: list[Parallel | None] = []
    for i, shift in enumerate(shifts):
        if shift is not None:
            kind: ParallelKind = "side-slip" if i in slips else "constant structure"
            found.append(Parallel(kind=kind, semitones=shift))
            continue
        generic = diatonic_shift(voicings[i], voicings[i + 1])
        found.append(
            None if generic is None else Parallel(kind="diatonic parallel", semitones=generic)
        )
    return found


def _side_slips(
    voicings: Sequence[Voicing], shifts: Sequence[int | None], beat_s: float | None
) -> set[int]:
    """Indices of moves that belong to a side-slip."""
    slips: set[int] = set()
    for i, shift in enumerate(shifts):
        if shift not in (1, -1):
            continue
        back = _back_within(voicings, shifts, i, beat_s)
        if back is not None:
            slips |= set(range(i, back + 1))
        elif i + 1 < len(shifts) and shifts[i + 1] == shift and not _own(voicings[i + 1]):
            slips |= {i, i + 1}
        elif _weak(voicings[i]) and not _weak(voicings[i + 1]) and i and shifts[i - 1] is None:
            slips.add(i)
    return slips


def _back_within(
    voicings: Sequence[Voicing], shifts: Sequence[int | None], i: int, beat_s: float | None
) -> int | None:
    """The move, one or two after move i, that brings the stack back; None if none does."""
    home = voicings[i].pitches
    for j in (i + 1, i + 2):
        if j >= len(shifts):
            return None
        away_s = voicings[j + 1].attack.onset_s - voicings[i + 1].attack.onset_s
        in_time = beat_s is None or away_s <= SLIP_BEATS * beat_s + 0.05
        repeated = j == i + 1 or voicings[j].pitches == voicings[i + 1].pitches
        if voicings[j + 1].pitches == home and repeated and (in_time or j == i + 1):
            return j
    return None


def _own(voicing: Voicing) -> bool:
    """Whether a chord has a reading of its own (a sure one)."""
    return voicing.chord.source == "changes" or voicing.chord.confidence >= 0.9


def _weak(voicing: Voicing) -> bool:
    """Whether a voicing stands off the beat; unknown places are not weak."""
    position = voicing.attack.position
    return position is not None and position.beat.denominator != 1
