"""Hearings that are the truth."""

from bench.accuracy import FAMILIES
from bench.scoring.scoring import Heard, Named
from fixtures.played.truth import TrueTake
from stackline.listen.attacks.attacks import find_attacks
from stackline.shared.notes import Attack, Note


def heard_notes(take: TrueTake, *, late_s: float = 0.0) -> tuple[Note, ...]:
    """The true notes as an ear would give them."""
    return tuple(
        Note(
            onset_s=max(0.0, note.onset_s + late_s),
            offset_s=note.offset_s + late_s,
            midi=note.midi,
            velocity=note.velocity,
            confidence=0.97,
        )
        for note in take.notes
    )


def as_heard(take: TrueTake, attacks: tuple[Attack, ...], notes: tuple[Note, ...]) -> Heard:
    """A hearing whose chords are the true ones of the nearest attack."""
    chords: list[Named | None] = []
    for attack in attacks:
        nearest = min(take.attacks, key=lambda one: abs(one.onset_s - attack.onset_s))
        chord = nearest.chord
        chords.append(
            Named(root_pc=chord.root_pc, family=FAMILIES[chord.quality]) if chord else None
        )
    confidences = tuple(min(n.confidence for n in attack.struck) for attack in attacks)
    return Heard(notes=notes, attacks=attacks, confidences=confidences, chords=tuple(chords))


def perfect(take: TrueTake, *, late_s: float = 0.0) -> Heard:
    """A hearing that is the truth, grouped by our own rule."""
    notes = heard_notes(take, late_s=late_s)
    return as_heard(take, find_attacks(notes), notes)
