"""The take: one recording, heard and read, with everything that says where it came from.

And the session: a recording of an evening, whose sections are takes.
"""

from dataclasses import dataclass
from fractions import Fraction

from stackline.shared.harmony import Motion, Voicing
from stackline.shared.notes import Attack, BeatGrid, CutFrom, Note, Passage, Position, Span
from stackline.shared.rhythm import NO_RHYTHM, HarmonicRhythm

FORMAT = 1  # of the JSON: raised when older readers would misread it


@dataclass(frozen=True, kw_only=True)
class Source:
    """The recording behind a take; sha256 (hex) is of the file's bytes.

    broken_off_s: where a damaged or cut recording breaks off, None where it does not. What
    was heard ends there, so it is near duration_s. unread: damaged stretches in which nothing
    could be heard, in order; what follows them keeps its time. cut_from: where the take is a
    section of a longer recording; all else here is then of the section itself.
    """

    name: str
    duration_s: float
    sha256: str
    broken_off_s: float | None = None
    unread: tuple[Passage, ...] = ()
    cut_from: CutFrom | None = None


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


@dataclass(frozen=True, kw_only=True)
class Recognised:
    """A known target that a section is practice of.

    target: its name. confidence: 0..1. passes: how often it was played whole; keys: of them, in
    order, as pitch classes from C, each once. start_s: of the first, by the section's own clock.
    """

    target: str
    confidence: float
    passes: int
    keys: tuple[int, ...]
    start_s: float


@dataclass(frozen=True, kw_only=True)
class Section:
    """One thing that was played. take: by its own clock; `take.source.cut_from` has its place in
    the recording, None where the recording is one section. recognised: the likeliest first.
    """

    take: Take
    recognised: tuple[Recognised, ...] = ()

    @property
    def start_s(self) -> float:
        """Where it begins, by the clock of the recording."""
        cut = self.take.source.cut_from
        return cut.start_s if cut else 0.0

    @property
    def end_s(self) -> float:
        """Where it ends, by the clock of the recording."""
        cut = self.take.source.cut_from
        return cut.end_s if cut else self.take.source.duration_s


@dataclass(frozen=True, kw_only=True)
class Session:
    """source: the whole recording. not_playing: by its clock. sections: in order of time."""

    source: Source
    sections: tuple[Section, ...]
    not_playing: tuple[Span, ...] = ()
