"""An ear that is told what it hears, and the recording that goes with it."""

from stackline.listen.ear import Progress
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning

RATE = 16_000


PLAYED = [(0.5 * i, (53 + i % 3, 57, 60, 64)) for i in range(24)]


class ToldEar:
    """Hears the given notes in anything; keeps what it was asked with."""

    name = "told 1"
    sample_rate_hz = RATE
    hears_velocity = False

    def __init__(self, notes: tuple[Note, ...]) -> None:
        self._notes = notes
        self.asked: list[tuple[Audio, Tuning]] = []

    def hear(self, audio: Audio, tuning: Tuning, progress: Progress) -> tuple[Note, ...]:
        """See `stackline.listen.ear.Ear`."""
        self.asked.append((audio, tuning))
        progress("listening", 1.0)
        return self._notes


def notes() -> tuple[Note, ...]:
    """What was played, as notes."""
    return tuple(
        Note(onset_s=at, offset_s=at + 0.4, midi=midi, velocity=64, confidence=0.9)
        for at, midis in PLAYED
        for midi in midis
    )
