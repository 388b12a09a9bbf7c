"""Small practice scenes for tests: notes written by hand, as gestures or as a whole take."""

from collections.abc import Sequence

from stackline.listen.attacks.attacks import find_attacks
from stackline.practice.finding.gestures import Gesture, gestures
from stackline.shared.notes import BeatGrid, Note
from stackline.shared.take import Source, Take
from stackline.theory.reading import read

# Dm9, G13(b9), C6/9 from the 3rd, written out by hand: F A C E, F Ab B E, E G A D
TWO_FIVE = ((53, 57, 60, 64), (53, 56, 59, 64), (52, 55, 57, 62))
TARGET_TEXT = "IIm9: b3 5 b7 9 > V13(b9): b7 b9 3 13 > I6/9: 3 5 6 9"


def notes_of(
    rows: Sequence[tuple[float, Sequence[int]]], *, length_s: float = 0.9, sure: float = 0.98
) -> tuple[Note, ...]:
    """Rows of (onset in seconds, pitches) as notes, each heard with confidence `sure`."""
    return tuple(
        Note(onset_s=at, offset_s=at + length_s, midi=pitch, velocity=70, confidence=sure)
        for at, pitches in rows
        for pitch in pitches
    )


def gestures_of(
    rows: Sequence[tuple[float, Sequence[int]]], *, length_s: float = 0.9
) -> tuple[Gesture, ...]:
    """Rows of (onset in seconds, pitches) as gestures."""
    return gestures(find_attacks(notes_of(rows, length_s=length_s)))


def played(
    *voicings: Sequence[int], start_s: float = 0.5, every_s: float = 1.0, up: int = 0
) -> list[tuple[float, tuple[int, ...]]]:
    """Voicings one after the other, all moved up by semitones."""
    return [
        (start_s + i * every_s, tuple(pitch + up for pitch in voicing))
        for i, voicing in enumerate(voicings)
    ]


def take_of(
    rows: Sequence[tuple[float, Sequence[int]]], *, name: str = "study.wav",
    sha256: str = "0" * 64, sure: float = 0.98,
) -> Take:  # fmt: skip
    """The same as a take with theory's reading."""
    notes = notes_of(rows, sure=sure)
    attacks = find_attacks(notes)
    end_s = max(note.offset_s for note in notes) + 1.0
    reading = read(attacks, BeatGrid(), end_s=end_s)
    return Take(
        source=Source(name=name, duration_s=end_s, sha256=sha256),
        ear="written by hand 1",
        tuning_cents=0.0,
        grid=BeatGrid(),
        notes=notes,
        attacks=attacks,
        voicings=reading.voicings,
        motions=reading.motions,
        version="0.1.0",
    )
