"""What was really played in a made take: the records that figures are scored against.

Unlike `shared.notes`, nothing here is an estimate. An attack's notes are the exact set of
keys struck together; a chord roll is one attack however wide, and a low root touched after
its chord is an attack of its own. Times in seconds from the start of the take.
"""

from dataclasses import dataclass
from typing import Literal

TakeKind = Literal["listed", "free"]
AttackKind = Literal["listed", "free", "root", "single"]


@dataclass(frozen=True, kw_only=True)
class TrueNote:
    """One struck key. key_up_s: the finger leaves. offset_s: the sound is damped.

    offset_s is later than key_up_s where the pedal is down. midi 21..108, velocity 1..127.
    """

    onset_s: float
    key_up_s: float
    offset_s: float
    midi: int
    velocity: int


@dataclass(frozen=True, kw_only=True)
class TrueChord:
    """The chord that the player means: root 0..11 (C = 0) and a key of `theory.qualities`."""

    root_pc: int
    quality: str


@dataclass(frozen=True, kw_only=True)
class TrueAttack:
    """Keys struck together, by rising pitch.

    kind: "listed" for a common voicing, "free" for one from no list, "root" for a low root
    touched after its chord, "single" for one note alone. chord: None where no chord is meant.
    """

    notes: tuple[TrueNote, ...]
    kind: AttackKind
    chord: TrueChord | None
    rolled: bool = False

    @property
    def pitches(self) -> tuple[int, ...]:
        """MIDI pitches, low to high."""
        return tuple(note.midi for note in self.notes)

    @property
    def onset_s(self) -> float:
        """When the first key is struck."""
        return min(note.onset_s for note in self.notes)

    @property
    def spread_s(self) -> float:
        """From the first key to the last."""
        return max(note.onset_s for note in self.notes) - self.onset_s


@dataclass(frozen=True, kw_only=True)
class TrueTake:
    """One made take. beats_s: the time of each beat. pedal_s: spans with the pedal down."""

    name: str
    attacks: tuple[TrueAttack, ...]
    beats_s: tuple[float, ...]
    beats_per_bar: int
    tempo_bpm: float
    pedal_s: tuple[tuple[float, float], ...]
    duration_s: float

    @property
    def notes(self) -> tuple[TrueNote, ...]:
        """All notes by onset, then pitch."""
        every = [note for attack in self.attacks for note in attack.notes]
        return tuple(sorted(every, key=lambda note: (note.onset_s, note.midi)))
