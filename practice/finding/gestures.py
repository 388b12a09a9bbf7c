"""Gestures: what the hands did, as practice needs it from the attacks of a take.

Attacks that follow each other within 120 ms without sharing a key are one gesture (a left
hand a little ahead of the right is no second chord). A line over the comping is no part of any.
Facts only: no gesture knows a chord.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from stackline.shared.notes import Attack, Note

TOGETHER_S = 0.120


@dataclass(frozen=True, kw_only=True)
class Gesture:
    """Keys struck together. Times in seconds.

    struck: rising MIDI. held: rising MIDI of keys still sounding from before.
    attacks: what it was made of.
    """

    onset_s: float
    offset_s: float
    struck: tuple[int, ...]
    held: tuple[int, ...]
    attacks: tuple[Attack, ...]

    @property
    def notes(self) -> dict[int, Note]:
        """The notes by key: held ones, and over them what was struck."""
        held = {
            note.midi: note
            for attack in self.attacks
            for note in attack.held
            if not note.is_of_line
        }
        return held | {note.midi: note for attack in self.attacks for note in attack.comped}

    @property
    def struck_classes(self) -> frozenset[int]:
        """Pitch classes of what was struck."""
        return frozenset(pitch % 12 for pitch in self.struck)

    @property
    def held_classes(self) -> frozenset[int]:
        """Pitch classes of what still sounds from before."""
        return frozenset(pitch % 12 for pitch in self.held)


def gestures(attacks: Sequence[Attack]) -> tuple[Gesture, ...]:
    """The gestures of some attacks in order."""
    found: list[Gesture] = []
    for attack in attacks:
        if not attack.comped:
            continue
        this = _gesture(attack)
        if found and _one_movement(found[-1], this):
            found[-1] = _joined(found[-1], this)
        else:
            found.append(this)
    return tuple(found)


def _gesture(attack: Attack) -> Gesture:
    keys = _keys(attack.comped)
    return Gesture(
        onset_s=attack.onset_s,
        offset_s=max(note.offset_s for note in attack.comped),
        struck=keys,
        held=tuple(
            pitch
            for pitch in _keys([note for note in attack.held if not note.is_of_line])
            if pitch not in keys
        ),
        attacks=(attack,),
    )


def _keys(notes: Sequence[Note]) -> tuple[int, ...]:
    return tuple(sorted({note.midi for note in notes}))


def _one_movement(first: Gesture, second: Gesture) -> bool:
    near = second.onset_s - first.onset_s <= TOGETHER_S
    return near and not set(first.struck) & set(second.struck)


def _joined(first: Gesture, second: Gesture) -> Gesture:
    struck = tuple(sorted(first.struck + second.struck))
    return Gesture(
        onset_s=first.onset_s,
        offset_s=max(first.offset_s, second.offset_s),
        struck=struck,
        held=tuple(sorted({*first.held, *second.held} - set(struck))),
        attacks=first.attacks + second.attacks,
    )
