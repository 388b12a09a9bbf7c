"""Guide tones from chord to chord: which pairs come first, and which moves are theirs.

Where the root goes down a fifth or a semitone, a player hears the 7th fall to the 3rd and the 3rd
stay as the 7th (or rise to the root) before anything else: those pairs are made first, as long as
the note that is due sounds in its octave. Common practice; T. Karlsson, jazz harmony lesson 53.
"""

from collections.abc import Sequence

from stackline.shared.harmony import VoiceMove, Voicing
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.motion.resolution_rules import Shifts, shifts_due

FIFTH_DOWN, WHOLE_STEP = 5, 2  # semitones
TO_V: Shifts = {"b7": (-1, -2), "7": (-2, -1), "b3": (0, -1), "3": (0, -1)}  # ii to V, I to IV
OF_TRIADS = {"major": {"7", "6"}, "minor": {"b7", "7", "6"}, "suspended": {"b7"},
             "diminished": {"bb7"}}  # what may be the seventh where the name has none  # fmt: skip
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
            if str(tone.degree) == degree and to is not None and _is_free(tone.midi, to, found):
                found.append((tone.midi, to))
    return tuple(sorted(found))


def _due(before: Voicing, after: Voicing) -> Shifts:
    now, then = (quality(one.chord.symbol.quality).family for one in (before, after))
    return shifts_due(now, then, root_step(before, after))


def _is_free(start: int, end: int, pairs: Sequence[tuple[int, int]]) -> bool:
    """Whether a pair shares no note with the others, and crosses none."""
    return all((start - a) * (end - b) > 0 for a, b in pairs)


def _roles(voicing: Voicing) -> dict[int, str]:
    """Which pitches are the chord's third (4 of a sus) or its seventh (6 where it has none)."""
    row = quality(voicing.chord.symbol.quality)
    named = set(row.degrees)
    sevenths = named & {"7", "b7", "bb7"} or named & {"6"} or OF_TRIADS[row.family]
    thirds = named & {"3", "b3", "4"}
    found = {}
    for tone in voicing.tones:
        if str(tone.degree) in thirds:
            found[tone.midi] = "third"
        elif str(tone.degree) in sevenths:
            found[tone.midi] = "seventh"
        elif tone.degree.number == 1:
            found[tone.midi] = "root"
    return found


def guide_moves(
    before: Voicing, after: Voicing, moves: Sequence[VoiceMove]
) -> tuple[VoiceMove, ...]:
    """Moves by a whole step at most that carry a third into a seventh or a seventh into a third.

    Where a dominant resolves, its third may also rise into the root. A voice that leaps is no
    guide-tone line (common practice).
    """
    roles, then = _roles(before), _roles(after)
    owed = is_owed(before, after)

    def is_guide(move: VoiceMove) -> bool:
        if move.from_midi is None or move.to_midi is None or abs(move.semitones or 0) > WHOLE_STEP:
            return False
        pair = (roles.get(move.from_midi), then.get(move.to_midi))
        rises = owed and pair == ("third", "root") and move.semitones == 1
        return rises or set(pair) == {"third", "seventh"}

    return tuple(move for move in moves if is_guide(move))
