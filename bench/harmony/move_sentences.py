"""Reads the sentences that are said of moves, and says which clauses are false.

The other half of `voicing_sentences`, written in the same way: apart from `theory/explain.py`, and
counted out from MIDI numbers. Where each degree of a dominant is due stands here once more, from
handbooks (common practice).
"""

import re

from bench.harmony.pitch_facts import Stack, step_of
from bench.harmony.voicing_sentences import DEGREE, false_clauses

TOSS_UP = 0.6


def check_motion(sentence: str, before: Stack, after: Stack) -> list[str]:
    """False clauses of a sentence on a move."""
    return false_clauses(sentence, lambda clause: _move_clause(clause, before, after))


def _move_clause(clause: str, before: Stack, after: Stack) -> bool:
    head, _, rest = clause.partition(": ")
    if head == "top line":
        return _top(rest, before, after)
    if head == "guide tones":
        return all(
            _guide(one, before, after) for one in re.split(r", (?=the )| and (?=the )", rest)
        )
    if head in ("common tone", "common tones"):
        parts = re.split(r", (?=the )| and (?=the )", rest)
        return (len(parts) == 1) == (head == "common tone") and all(
            _common(one, before, after) for one in parts
        )
    return (
        _outer(clause, before, after)
        or _parallel(clause, before, after)
        or _resolved(clause, before, after)
    )


def _size_holds(verb: str, way: str, semitones: int) -> bool:
    size = abs(semitones)
    right = {
        "steps": 1 <= size <= 2,
        "skips": 3 <= size <= 4,
        "leaps": size >= 5,
        "jumps": size >= 3,
    }
    return right[verb] and (semitones > 0) == (way == "up")


def _top(text: str, before: Stack, after: Stack) -> bool:
    start, end = (before.top - before.root) % 12, (after.top - after.root) % 12
    found = re.fullmatch(
        rf"the ({DEGREE}) (steps|skips|leaps) (up|down) to the ({DEGREE}) of (\S+)", text
    )
    if found:
        names = step_of(found[1]) == start and step_of(found[4]) == end and found[5] == after.symbol
        return names and _size_holds(found[2], found[3], after.top - before.top)
    found = re.fullmatch(rf"the ({DEGREE}) stays(?: and becomes the ({DEGREE}) of (\S+))?", text)
    if not found or before.top != after.top or step_of(found[1]) != start:
        return False
    return step_of(found[2] or found[1]) == end and found[3] in (None, after.symbol)


def _role(step: int, stack: Stack) -> str:
    return (
        "third"
        if step == stack.third
        else "seventh"
        if step in stack.sevenths
        else "root"
        if step == 0
        else ""
    )


def _guide(text: str, before: Stack, after: Stack) -> bool:
    found = re.fullmatch(
        rf"the ({DEGREE}) (?:stays as the ({DEGREE})|(steps|jumps) (up|down) to the ({DEGREE}))",
        text,
    )
    if not found:
        return False
    to = found[2] or found[5]
    roles = {_role(step_of(found[1]), before), _role(step_of(to), after)}
    if roles != {"third", "seventh"} and roles != {"third", "root"}:
        return False
    moves = [q - p for p in before.at(found[1]) for q in after.at(to)]
    if found[2]:
        return 0 in moves
    return any(move and _size_holds(found[3], found[4], move) for move in moves)


def _common(text: str, before: Stack, after: Stack) -> bool:
    found = re.fullmatch(rf"the ({DEGREE}) is now the ({DEGREE})", text)
    return bool(found and set(before.at(found[1])) & set(after.at(found[2])))


def _outer(clause: str, before: Stack, after: Stack) -> bool:
    found = re.fullmatch(r"outer voices in (\w+) motion", clause)
    if not found:
        return False
    low, high = after.pitches[0] - before.pitches[0], after.pitches[-1] - before.pitches[-1]
    kind = (
        "parallel" if low == high != 0 else "oblique" if 0 in (low, high) and low != high
        else "contrary" if low * high < 0 else "similar"
    )  # fmt: skip
    return kind == found[1]


def _parallel(clause: str, before: Stack, after: Stack) -> bool:
    shifts = {b - a for a, b in zip(before.pitches, after.pitches, strict=False)}
    same_size = len(before.pitches) == len(after.pitches)
    found = re.fullmatch(
        r"(constant structure|side-slip), the same shape (\d+) semitones? (up|down)", clause
    )
    if found:
        shift = int(found[2]) * (1 if found[3] == "up" else -1)
        return same_size and shifts == {shift} and (found[1] != "side-slip" or abs(shift) == 1)
    found = re.fullmatch(
        r"all voices move in parallel within the scale, the lowest (\d+) semitones? (up|down)",
        clause,
    )
    if not found:
        return False
    shift = int(found[1]) * (1 if found[2] == "up" else -1)
    letters = {b - a for a, b in zip(before.letters, after.letters, strict=False)}
    one_way = all(one * shift > 0 for one in shifts)
    right = after.pitches[0] - before.pitches[0] == shift
    return same_size and len(letters) == 1 and one_way and right


# Where handbooks send each degree of V over I, in semitones: major, minor, dominant, suspended.
V_TO_I = {
    "b7": ({-1}, {-2}, {-1}, {0}), "3": ({0, 1, -2}, {0, 1, -1, -2}, {-1, 1}, {-1, 1}),
    "b9": ({-1}, {-1}, {-1}, {-1}), "9": ({-2, 0}, {-2}, {-2, 0}, {-2, 0}),
    "#9": ({-1, 1, -3}, {-1, 0, -3}, {-1, 0, -3}, {-1, 0, -3}), "#11": ({-1, 1},) * 4,
    "b13": ({-1, 1}, {0, -1}, {-1, 1}, {-1}), "13": ({-2, 0}, {-1, -2}, {-2, 0, -1}, {-2, 0, -1}),
}  # fmt: skip
BY_SEMITONE = {"3": {-1}, "b7": {0, 1}, "R": {-1}, "5": {-1}, "9": {-1}, "#11": {0}, "13": {-1}}


def _due(degree: str, before: Stack, after: Stack) -> set[int]:
    """Where handbooks send a degree, in semitones."""
    step = (after.root - before.root) % 12
    if step == 0:
        return {-1} if degree == "4" else set()
    if step == 11:
        return BY_SEMITONE.get(degree, set())
    if step != 5 or degree not in V_TO_I:
        return set()
    target = (
        3 if after.third == 5 else 1 if after.third == 3 else 2 if after.sevenths == (10,) else 0
    )
    return V_TO_I[degree][target]


def _resolved(clause: str, before: Stack, after: Stack) -> bool:
    found = re.fullmatch(r"the resolutions hold only if the chords? (?:is|are) (.+)", clause)
    if found:
        said = re.findall(r"(\S+) \((\d+)%\)", found[1])
        doubtful = [one for one in (before, after) if one.confidence < TOSS_UP]
        return said == [(one.symbol, f"{100 * one.confidence:.0f}") for one in doubtful] != []
    found = re.match(rf"the ({DEGREE}) ", clause)
    if not found or not before.at(found[1]):
        return False
    degree, rest = found[1], clause[found.end() :]
    shifts = _due(degree, before, after)
    return bool(shifts) and any(_outcome(rest, pitch, shifts, after) for pitch in before.at(degree))


def _outcome(rest: str, pitch: int, shifts: set[int], after: Stack) -> bool:
    """Whether what is said of one note's way holds."""
    due = {pitch + shift for shift in shifts}
    there = due & set(after.pitches)
    if rest == "was held and did not resolve":
        return pitch in after.pitches and pitch not in due
    if rest == "did not land, its voice stopped":
        return not there and pitch not in after.pitches
    found = re.fullmatch(
        rf"(landed|landed late|did not land but went to the) (?:on the )?({DEGREE})"
        r"( in another octave)?",
        rest,
    )
    if not found:
        return False
    to = step_of(found[2])
    if found[1].startswith("did not"):
        return not there and (after.root + to) % 12 in {p % 12 for p in after.pitches}
    if found[1] == "landed late":
        later = {p for one in after.later for p in one}
        return not there and any((p - after.root) % 12 == to for p in due & later)
    if found[3]:
        far = [p for p in after.pitches if (p - after.root) % 12 == to]
        return not there and bool(far) and any((p - one) % 12 == 0 for p in far for one in due)
    return any((p - after.root) % 12 == to for p in there)
