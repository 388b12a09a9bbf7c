"""The tables of the page: resolutions, what came instead, the vocabulary, notes per beat.

Cells are text, ready to print; the templates only place them.
"""

from dataclasses import dataclass

from stackline.report.contents.beat_table import beat_table
from stackline.report.contents.page_rows import end_s, signed_stack
from stackline.report.contents.vocabulary import ShapeUse
from stackline.report.words.marks import instead
from stackline.report.words.page_text import fractions, prose
from stackline.report.words.take_view import TakeView
from stackline.shared.units import clock
from stackline.theory.chords.spelling import with_signs
from stackline.theory.motion.tally import Count

LINKS = 12  # places listed for a shape before it says how many more there are


@dataclass(frozen=True, kw_only=True)
class RateRow:
    """How often a degree landed, of how often it was due."""

    label: str
    due: int
    landed: int
    other_octave: int
    late: int
    missed: int


def rate_rows(view: TakeView) -> list[RateRow]:
    """A row for all, then one a degree, the most often due first; empty if none was due."""
    counted = view.tally
    if not counted.overall.due:
        return []
    ordered = sorted(counted.by_degree.items(), key=lambda item: -item[1].due)
    return [_rate("all", counted.overall)] + [_rate(with_signs(name), one) for name, one in ordered]


def key_rows(view: TakeView) -> list[RateRow]:
    """A row for each root that dominants were due to resolve to, the most often due first."""
    ordered = sorted(view.tally.by_key.items(), key=lambda item: -item[1].due)
    return [_rate(with_signs(root), count) for root, count in ordered]


def _rate(label: str, count: Count) -> RateRow:
    return RateRow(
        label=label,
        due=count.due,
        landed=count.landed,
        other_octave=count.outcomes.get("other octave", 0),
        late=count.outcomes.get("late", 0),
        missed=count.due - count.landed,
    )


@dataclass(frozen=True, kw_only=True)
class MissedRow:
    """A resolution that did not land, and what to play to hear it."""

    index: int
    where: str
    words: str
    start: str
    end: str


def missed_rows(view: TakeView) -> list[MissedRow]:
    """Every resolution that did not land, in order."""
    take = view.take
    return [
        MissedRow(
            index=motion.from_index,
            where=fractions(view.places.words(take.voicings[motion.from_index].attack)),
            words=prose(instead(take, motion, one)),
            start=f"{take.voicings[motion.from_index].attack.onset_s:.3f}",
            end=f"{end_s(take, motion.to_index):.3f}",
        )
        for motion, one in view.missed
    ]


@dataclass(frozen=True, kw_only=True)
class Link:
    """A place that can be jumped to."""

    index: int
    place: str


@dataclass(frozen=True, kw_only=True)
class ShapeRow:
    """One shape of the vocabulary."""

    stack: str
    quality: str
    structure: str
    count: int
    keys: str
    links: tuple[Link, ...]
    more: str


def shape_rows(view: TakeView, shapes: tuple[ShapeUse, ...]) -> list[ShapeRow]:
    """The vocabulary, ready to print."""
    return [
        ShapeRow(
            stack=" ".join(with_signs(degree) for degree in shape.stack),
            quality=with_signs(shape.quality) or "triad",
            structure=prose(shape.structure),
            count=shape.count,
            keys=", ".join(with_signs(key) for key in shape.keys),
            links=tuple(
                Link(index=i, place=fractions(view.places.short(view.take.voicings[i].attack)))
                for i in shape.places[:LINKS]
            ),
            more=f"and {shape.count - LINKS} more" if shape.count > LINKS else "",
        )
        for shape in shapes
    ]


def beat_rows(view: TakeView) -> tuple[str, list[str], list[list[str]]]:
    """Title, column heads and rows of the struck notes: a bar a row, or an attack a row."""
    take, names = view.take, view.names
    if not take.grid.beats:
        attacks = [[clock(a.onset_s), signed_stack(names.row(a.struck))] for a in take.attacks]
        return "Notes per attack", ["at", "notes struck"], attacks
    last = max(beat.number for beat in take.grid.beats)
    table = [
        [row.title, *(signed_stack(names.row(notes or ()) or "\u2013") for notes in row.cells)]
        for row in beat_table(take, last)
        if any(row.cells)
    ]
    return "Notes per beat", ["bar", *(f"beat {number}" for number in range(1, last + 1))], table
