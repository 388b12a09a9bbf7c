"""The take: one recording, heard and read, with everything that says where it came from."""

from dataclasses import dataclass
from fractions import Fraction

from stackline.shared.harmony import Motion, Voicing
from stackline.shared.notes import Attack, BeatGrid, Note, Passage, Position, Span
from stackline.shared.rhythm import NO_RHYTHM, HarmonicRhythm

FORMAT = 1


@dataclass(frozen=True, kw_only=True)
class Source:
    """The recording behind a take; sha256 (hex) is of the file's bytes.

    broken_off_s: where a damaged or cut recording breaks off, None where it does not. What
    was heard ends there, so it is near duration_s. unread: damaged stretches in which nothing
    could be heard, in order; what follows them keeps its time.
    """

    name: str
    duration_s: float
    sha256: str
    broken_off_s: float | None = None
    unread: tuple[Passage, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Take:
    """One recording, heard and read.

    ear: which ear heard it, with its version. notes by onset, then pitch. attacks by
    onset; every note is struck in exactly one. voicings: the attacks that have a
    reading, in order. motions: between neighbours in `voicings`. not_playing: stretches of
    talk and other sounds, in order, apart from each other. swing_ratio: how much longer the
    first half of a divided beat is than the second, None where too few beats are divided.
    rhythm: when its chords change.
    """

    source: Source
    ear: str
    tuning_cents: float
    grid: BeatGrid
    notes: tuple[Note, ...]
    attacks: tuple[Attack, ...]
    voicings: tuple[Voicing, ...]
    motions: tuple[Motion, ...]
    version: str
    not_playing: tuple[Span, ...] = ()
    swing_ratio: float | None = None
    rhythm: HarmonicRhythm = NO_RHYTHM


@dataclass(frozen=True, kw_only=True)
class BeatNotes:
    """The notes struck in one beat (from its time up to the next beat's)."""

    position: Position
    time_s: float
    notes: tuple[Note, ...]


def notes_per_beat(take: Take) -> tuple[BeatNotes, ...]:
    """The notes of a take beat by beat; empty without a beat grid.

    A note belongs to the attack it was struck in, and an attack to the beat of its
    position, so a chord played a few milliseconds early stays in its beat.
    """
    by_beat: dict[tuple[int, int], list[Note]] = {}
    for attack in take.attacks:
        if attack.position is not None:
            key = (attack.position.bar, int(attack.position.beat))
            by_beat.setdefault(key, []).extend(attack.struck)
    rows = []
    for beat, bar in zip(take.grid.beats, take.grid.bars(), strict=True):
        notes = by_beat.get((bar, beat.number), [])
        position = Position(bar=bar, beat=Fraction(beat.number))
        rows.append(BeatNotes(position=position, time_s=beat.time_s, notes=tuple(notes)))
    return tuple(rows)
