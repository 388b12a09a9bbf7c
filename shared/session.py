"""A session: one recording of an evening, the sections that it fell into, and what was played."""

from dataclasses import dataclass

from stackline.shared.notes import Span
from stackline.shared.take import Source, Take


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
