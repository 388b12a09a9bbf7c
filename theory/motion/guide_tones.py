"""Guide tones from chord to chord: which pairs come first, and which moves are theirs.

Where the root goes down a fifth or a semitone, a player hears the 7th fall to the 3rd and the 3rd
stay as the 7th (or rise to the root) before anything else: those pairs are made first, as long as
the note that is due sounds in its octave. Common practice; T. Karlsson, jazz harmony lesson 53.
"""

from collections.abc import Sequence

from stackline.shared.harmony import Degree, VoiceMove, Voicing
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.motion.resolution_rules import Shifts, shifts_due

FIFTH_DOWN = 5
TO_V: Shifts = {"b7": (-1, -2), "7": (-2, -1), "b3": (0, -1), "3": (0, -1)}  # ii to V, I to IV
LEADING = ("b7", "7", "4", "3", "b3")  # in this order they are served


def root_step(before: Voicing, after: Voicing) -> int:
    """Semitones up from root to root, 0..11."""
    now, then = before.chord.symbol, after.chord.symbol
    return (pitch_class_of(then.root) - pitch_class_of(now.root)) % 12


def is_owed(before: Voicing, after: Voicing) -> bool:
    """Whether a dominant (or a suspended chord) resolves here, down a fifth or a semitone."""
    return bool(_due(before, after))


def first_pairs(before: Voicing, after: Voicing) -> tuple[tuple[int, int], ...]:
    """Pairs of pitches that go before all others; none crosses another or shares a note."""
    step = root_step(before, after)
    due = _due(before, after) or (TO_V if step == FIFTH_DOWN else {})
    found: list[tuple[int, int]] = []
    for degree in LEADING:
        for tone in before.tones:
            targets = [tone.midi + shift for shift in due.get(degree, ())]
            to = next((one for one in targets if one in after.pitches), None)
            if str(tone.degree) == degree and to is not None and _fits(tone.midi, to, found):
                found.append((tone.midi, to))
    return tuple(sorted(found))


def _due(before: Voicing, after: Voicing) -> Shifts:
    now, then = (quality(one.chord.symbol.quality).family for one in (before, after))
    return shifts_due(now, then, root_step(before, after))


def _fits(start: int, end: int, pairs: Sequence[tuple[int, int]]) -> bool:
    """Whether a pair shares no note with the others, and crosses none."""
    return all((start - a) * (end - b) > 0 for a, b in pairs)


def _role(degree: Degree, stack: Sequence[Degree]) -> str | None:
    """Third or seventh of its chord; a 6 counts as the seventh where there is none."""
    if degree.number == 3 and degree.alteration <= 0:
        return "third"
    if degree.number == 4:
        return "third"
    if degree.number == 7:
        return "seventh"
    if degree.number == 6 and all(one.number != 7 for one in stack):
        return "seventh"
    return None


def guide_moves(
    before: Voicing, after: Voicing, moves: Sequence[VoiceMove]
) -> tuple[VoiceMove, ...]:
    """Moves that carry a third into a seventh or a seventh into a third.

    Where a dominant resolves, its third may also rise into the root.
    """
    roles = {tone.midi: _role(tone.degree, before.stack) for tone in before.tones}
    then = {tone.midi: _role(tone.degree, after.stack) for tone in after.tones}
    roots = {tone.midi for tone in after.tones if tone.degree.number == 1}
    owed = is_owed(before, after)

    def is_guide(start: int, end: int) -> bool:
        rises = owed and roles[start] == "third" and end in roots and end - start == 1
        return rises or {roles[start], then[end]} == {"third", "seventh"}

    return tuple(
        move
        for move in moves
        if move.from_midi is not None
        and move.to_midi is not None
        and is_guide(move.from_midi, move.to_midi)
    )
