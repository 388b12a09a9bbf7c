"""Records of what was heard: notes, beats, and the attacks they fall into.

Facts only. No record here knows a chord.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI

FINEST_BEAT = 48  # no position is finer than 1/48 of a beat (triplets, 32nds)

EVEN_ODDS = 0.5  # a chance: as likely as not

GridSource = Literal["heard", "hint", "assumed"]
SpanKind = Literal["talk", "applause", "not playing"]


@dataclass(frozen=True, kw_only=True)
class Note:
    """One struck key. Times in seconds from the start of the recording.

    midi: 21..108. velocity: 1..127, estimated from level. confidence: the chance that
    this note was struck, 0..1. offset_s: when it stopped sounding (with the pedal down
    that is later than the finger's release). line: the chance that it is of a line over the
    comping, 0..1; what is not of the line is of the comping.
    """

    onset_s: float
    offset_s: float
    midi: int
    velocity: int
    confidence: float
    line: float = 0.0

    def __post_init__(self) -> None:
        if not LOWEST_MIDI <= self.midi <= HIGHEST_MIDI:
            raise ValueError(f"midi must be {LOWEST_MIDI}..{HIGHEST_MIDI}, got {self.midi}")
        if not 1 <= self.velocity <= 127:
            raise ValueError(f"velocity must be 1..127, got {self.velocity}")
        if not 0.0 <= self.confidence <= 1.0:
            raise ValueError(f"confidence must be 0..1, got {self.confidence}")
        if not 0.0 <= self.line <= 1.0:
            raise ValueError(f"line must be 0..1, got {self.line}")
        if not 0.0 <= self.onset_s <= self.offset_s:
            raise ValueError(
                f"times must be 0 <= onset <= offset, got {self.onset_s}, {self.offset_s}"
            )

    @property
    def is_of_line(self) -> bool:
        """Whether it is rather of the line than of the comping."""
        return self.line >= EVEN_ODDS


def in_order(notes: Iterable[Note]) -> tuple[Note, ...]:
    """The same notes by onset, then by pitch."""
    return tuple(sorted(notes, key=lambda note: (note.onset_s, note.midi)))


@dataclass(frozen=True, kw_only=True)
class Position:
    """A place in the music: bar from 1, beat in the bar from 1 (5/2 is the "and" of two)."""

    bar: int
    beat: Fraction

    def __post_init__(self) -> None:
        if self.beat < 1 or FINEST_BEAT % self.beat.denominator:
            raise ValueError(f"beat must be 1 or more in parts of 1/{FINEST_BEAT}, got {self.beat}")


@dataclass(frozen=True, kw_only=True)
class Beat:
    """One beat: its time in seconds and its number in the bar (1 is the downbeat)."""

    time_s: float
    number: int


@dataclass(frozen=True, kw_only=True)
class Passage:
    """A passage of the recording, in seconds."""

    start_s: float
    end_s: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.start_s <= self.end_s:
            raise ValueError(f"times must be 0 <= start <= end, got {self.start_s}, {self.end_s}")


@dataclass(frozen=True, kw_only=True)
class BeatGrid:
    """The pulse of a take, or the honest absence of one (`beats` empty).

    tempo_bpm: beats a minute, None without a steady pulse. beats_per_bar: 4 in 4/4.
    source: "heard" in the sound, given by the player as a "hint", or "assumed" because
    nothing in the sound decides it. confidence: 0..1. out_of_time: passages in a take with a
    pulse that are played without it, in order; no beat stands in one, and no attack there has a
    position.
    """

    beats: tuple[Beat, ...] = ()
    tempo_bpm: float | None = None
    beats_per_bar: int = 4
    source: GridSource = "assumed"
    confidence: float = 0.0
    out_of_time: tuple[Passage, ...] = ()

    @property
    def is_uncertain(self) -> bool:
        """Whether readers are warned that the tempo may differ: no beats, or under even odds."""
        return not self.beats or self.confidence < EVEN_ODDS

    def bars(self) -> tuple[int, ...]:
        """The bar number of each beat, from 1; a pickup before the first downbeat is bar 0.

        A passage out of time between beats is one bar of its own.
        """
        numbers, bar = [], 0 if self.beats and self.beats[0].number != 1 else 1
        for i, beat in enumerate(self.beats):
            if i and self.is_taken_up(i):
                bar += 2
            elif i and beat.number == 1:
                bar += 1
            numbers.append(bar)
        return tuple(numbers)

    def is_taken_up(self, index: int) -> bool:
        """Whether a passage out of time lies between a beat, not the first, and the one before."""
        ends = self.beats[index - 1].time_s, self.beats[index].time_s
        return any(ends[0] <= one.start_s and one.end_s <= ends[1] for one in self.out_of_time)

    def is_in_time(self, time_s: float) -> bool:
        """Whether a moment lies in no passage out of time."""
        return not any(one.start_s <= time_s <= one.end_s for one in self.out_of_time)

    def is_left_between(self, start_s: float, end_s: float) -> bool:
        """Whether time is left between two moments."""
        return any(one.start_s < end_s and start_s < one.end_s for one in self.out_of_time)

    def unmeasured_bars(self) -> frozenset[int]:
        """The numbers of the bars that passages between beats are."""
        bars = self.bars()
        return frozenset(bars[i] - 1 for i in range(1, len(bars)) if self.is_taken_up(i))

    def stretches(self) -> tuple[tuple[int, int], ...]:
        """First beat and the one after the last, of each stretch between passages."""
        if not self.beats:
            return ()
        starts = [0, *(i for i in range(1, len(self.beats)) if self.is_taken_up(i))]
        return tuple(zip(starts, [*starts[1:], len(self.beats)], strict=True))

    def counted_through(self) -> tuple[Beat, ...]:
        """The beats, with even ones for each passage between them, as many as fit whole bars.

        For those who must count on; nobody played these.
        """
        rows = self.stretches()
        found = list(self.beats[: rows[0][1]]) if rows else []
        for first, after in rows[1:]:
            last, following = found[-1], self.beats[first]
            span_s = following.time_s - last.time_s
            wanted = span_s * (self.tempo_bpm or 120.0) / 60.0
            due = (following.number - last.number) % self.beats_per_bar
            bars = max(round((wanted - due) / self.beats_per_bar), 0 if due else 1)
            count = due + bars * self.beats_per_bar
            found += [
                Beat(
                    time_s=last.time_s + span_s * i / count,
                    number=(last.number + i - 1) % self.beats_per_bar + 1,
                )
                for i in range(1, count)
            ]
            found += self.beats[first:after]
        return tuple(found)


@dataclass(frozen=True, kw_only=True)
class Attack:
    """Notes struck together, and the keys that still sound from before.

    struck: by rising pitch, at least one. held: notes struck earlier that still sound.
    onset_s: of the first struck note; spread_s: to the last (a roll is wide).
    position: None without a beat grid.
    """

    onset_s: float
    spread_s: float
    struck: tuple[Note, ...]
    held: tuple[Note, ...] = ()
    position: Position | None = None

    @property
    def pitches(self) -> tuple[int, ...]:
        """All sounding MIDI pitches, low to high, each once."""
        return tuple(sorted({note.midi for note in self.struck + self.held}))

    @property
    def offset_s(self) -> float:
        """When the last struck note ends."""
        return max(note.offset_s for note in self.struck)

    @property
    def comped(self) -> tuple[Note, ...]:
        """The struck notes that are the comping's, by rising pitch; none where a line is alone."""
        return tuple(note for note in self.struck if not note.is_of_line)

    @property
    def line(self) -> tuple[Note, ...]:
        """The struck notes that are a line's, by rising pitch."""
        return tuple(note for note in self.struck if note.is_of_line)


@dataclass(frozen=True, kw_only=True)
class Span(Passage):
    """A stretch of the recording in which something else than the instrument is heard.

    Times in seconds. kind: "talk" and "applause" where the sound is clearly that, else
    "not playing" (knocks, paper, noise). Chords may be struck under it.
    """

    kind: SpanKind


@dataclass(frozen=True, kw_only=True)
class CutFrom:
    """The place of a section in the recording that it was cut from. Times in seconds of that.

    name, sha256: of the recording. number: of the section, from 1.
    """

    name: str
    sha256: str
    number: int
    start_s: float
    end_s: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.start_s <= self.end_s:
            raise ValueError(f"times must be 0 <= start <= end, got {self.start_s}, {self.end_s}")
