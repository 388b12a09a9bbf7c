"""Faults with the notes they are about: degrees say where in the chord, names which key."""

from stackline.practice.review.review_records import Fault, PassReview
from stackline.practice.targets.targets import Target
from stackline.practice.written.fault_words import in_words
from stackline.shared.harmony import Degree
from stackline.theory.chords.spelling import spell_degree

_INTO = frozenset({"did not resolve"})  # what came instead belongs to the next chord


def note_of(target: Target, chord: int, key: int, degree: str | None) -> str | None:
    """A degree of a chord of the target as a note's name in a key: the b7 of ``V7`` in B is E."""
    if degree is None or not 0 <= chord < len(target.chords):
        return None
    return spell_degree(target.chords[chord].symbol(key).root, Degree.parse(degree))


def notes_of(target: Target, one: PassReview, fault: Fault) -> tuple[str | None, str | None]:
    """The names of the note at fault and of what came instead."""
    came_over = fault.chord + 1 if fault.kind in _INTO else fault.chord
    return (
        note_of(target, fault.chord, one.key, fault.degree),
        note_of(target, came_over, one.key, fault.came),
    )


def with_notes(target: Target, one: PassReview, fault: Fault) -> str:
    """The fault in words, and behind it the chord and its notes in this key.

    ``the 7 instead of the b7 in IIm9 (Dm9: C# for C)``
    """
    due, came = notes_of(target, one, fault)
    words = in_words(target, fault)
    symbol = target.chords[fault.chord].symbol(one.key).text
    if fault.kind in ("missing note", "missing guide tone"):
        return f"{words} ({symbol}: {due} is missing)"
    if due and came and due != came:
        return f"{words} ({symbol}: {came} for {due})"
    if due or came:
        return f"{words} ({symbol}: {due or came})"
    return f"{words} ({symbol})"
