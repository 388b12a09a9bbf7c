"""Lines through a take: the top line, and the guide-tone lines beneath it.

A top line's run is a stretch of `SHORTEST_RUN` or more steps in one direction. Its contour
is told from its first, highest, lowest and last notes. A guide-tone line is a chain of moves
that carry 3 to 7 and 7 to 3 from chord to chord; it is smooth if no move is wider than a
whole step (common practice).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from stackline.shared.harmony import Degree, Motion, VoiceMove, Voicing

Contour = Literal["level", "rising", "falling", "arch", "valley", "winding"]
STEP = 2
SHORTEST_RUN = 2
NEAR = 2  # semitones within which two heights count as one for a contour


@dataclass(frozen=True, kw_only=True)
class TopNote:
    """One note of the top line: pitch, name with octave, degree over its chord."""

    midi: int
    name: str
    degree: Degree
    symbol: str


@dataclass(frozen=True, kw_only=True)
class Run:
    """A stretch of steps in one direction: first and last index, semitones in all."""

    first: int
    last: int
    semitones: int


@dataclass(frozen=True, kw_only=True)
class TopLine:
    """The highest notes of a take in order, their contour, and their runs."""

    notes: tuple[TopNote, ...]
    contour: Contour
    runs: tuple[Run, ...]


@dataclass(frozen=True, kw_only=True)
class GuideLine:
    """A chain of guide-tone moves, from voicing `first` on, one voicing a move."""

    first: int
    moves: tuple[VoiceMove, ...]

    @property
    def smooth(self) -> bool:
        """Whether no move is wider than a whole step."""
        return all(abs(move.semitones or 0) <= STEP for move in self.moves)


def top_line(voicings: Sequence[Voicing]) -> TopLine:
    """The top line of a take; empty and level without voicings."""
    notes = tuple(
        TopNote(
            midi=voicing.top.midi,
            name=voicing.top.name,
            degree=voicing.top.degree,
            symbol=voicing.chord.symbol.text,
        )
        for voicing in voicings
    )
    pitches = [note.midi for note in notes]
    return TopLine(notes=notes, contour=contour(pitches), runs=_runs(pitches))


def contour(pitches: Sequence[int]) -> Contour:
    """The shape of a line in one word."""
    if not pitches or max(pitches) - min(pitches) <= NEAR:
        return "level"
    first, last, high, low = pitches[0], pitches[-1], max(pitches), min(pitches)
    over = high - max(first, last) > NEAR
    under = min(first, last) - low > NEAR
    if over and under:
        return "winding"
    if over:
        return "arch"
    if under:
        return "valley"
    return "rising" if last > first else "falling"


def _runs(pitches: Sequence[int]) -> tuple[Run, ...]:
    """Stretches of steps that keep their direction."""
    found, start = [], 0
    for i in range(1, len(pitches) + 1):
        if i < len(pitches) and _goes_on(pitches, start, i):
            continue
        if i - 1 - start >= SHORTEST_RUN:
            found.append(Run(first=start, last=i - 1, semitones=pitches[i - 1] - pitches[start]))
        start = max(i - 1, start + 1) if i < len(pitches) and _is_step(pitches, i) else i
    return tuple(found)


def _is_step(pitches: Sequence[int], i: int) -> bool:
    return 1 <= abs(pitches[i] - pitches[i - 1]) <= STEP


def _goes_on(pitches: Sequence[int], start: int, i: int) -> bool:
    """Whether the step to note i continues a run that began at `start`."""
    if not _is_step(pitches, i):
        return False
    return i - 1 == start or (pitches[i] > pitches[i - 1]) == (pitches[i - 1] > pitches[start])


def guide_lines(motions: Sequence[Motion]) -> tuple[GuideLine, ...]:
    """Chains of guide-tone moves, in order of where they begin."""
    open_lines: dict[int, GuideLine] = {}
    done: list[GuideLine] = []
    for motion in motions:
        going: dict[int, GuideLine] = {}
        for move in motion.guide_tones:
            if move.from_midi is None or move.to_midi is None:
                continue
            line = open_lines.pop(move.from_midi, None)
            before = line or GuideLine(first=motion.from_index, moves=())
            going[move.to_midi] = GuideLine(first=before.first, moves=(*before.moves, move))
        done += open_lines.values()
        open_lines = going
    done += open_lines.values()
    return tuple(sorted(done, key=lambda line: (line.first, -len(line.moves))))
