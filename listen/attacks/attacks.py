"""Which notes were struck together, and what still sounds from before.

A chord is never struck in one instant: its notes follow each other by some milliseconds,
and a rolled chord takes up to a fifth of a second. Rule: notes in order of onset belong to
one attack while each follows the one before by at most 60 ms and the first by at most
200 ms, and no key comes twice. A wider gap, or a key struck again, begins the next attack.

A held note was struck in an earlier attack and ends no sooner than 200 ms after this
attack's onset; what ends sooner was being let go, or rings in the room.
"""

from collections.abc import Sequence

from stackline.shared.notes import Attack, Note, in_order

NEIGHBOURS_S = 0.060  # between neighbouring notes of one attack, at most
ROLL_S = 0.200  # from the first note of an attack to its last, at most
HELD_S = 0.200  # a held note outlasts the attack's onset by this


def find_attacks(notes: Sequence[Note]) -> tuple[Attack, ...]:
    """The attacks of some notes, by onset, without positions.

    Every note is struck in exactly one attack.
    """
    attacks: list[Attack] = []
    sounding: list[Note] = []
    for struck in _groups(in_order(notes)):
        onset_s = struck[0].onset_s
        keys = {note.midi for note in struck}
        sounding = [note for note in sounding if note.offset_s >= onset_s + HELD_S]
        held = {note.midi: note for note in sounding if note.midi not in keys}
        attacks.append(
            Attack(
                onset_s=onset_s,
                spread_s=round(struck[-1].onset_s - onset_s, 4),
                struck=tuple(sorted(struck, key=lambda note: note.midi)),
                held=tuple(held[midi] for midi in sorted(held)),
            )
        )
        sounding = [note for note in sounding if note.midi not in keys] + struck
    return tuple(attacks)


def _groups(notes: Sequence[Note]) -> list[list[Note]]:
    """Notes in order of onset, cut where the rule says."""
    groups: list[list[Note]] = []
    for note in notes:
        if groups and _belongs(note, groups[-1]):
            groups[-1].append(note)
        else:
            groups.append([note])
    return groups


def _belongs(note: Note, group: list[Note]) -> bool:
    """Whether a note still falls into an attack."""
    near = note.onset_s - group[-1].onset_s <= NEIGHBOURS_S
    in_roll = note.onset_s - group[0].onset_s <= ROLL_S
    return near and in_roll and all(note.midi != other.midi for other in group)
