"""The take as a chart, bar after bar: notes in time, chord symbols above, the top line through.

A bar is one small picture of fixed size in drawing units; the page sets as many in a line
as fit, like a lead sheet. Within a bar time runs evenly from left to right, so that a
click is a moment in the recording. `chart_slots` cuts the take into pictures, `chart_labels`
writes into them. They run from the first to the last note without a gap; silence before and
after is left out.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from stackline.report.contents.chart_labels import (
    BAR_H,
    LINE_H,
    Label,
    Scale,
    degree_of,
    held_over,
    line_of,
    missed_of,
    symbols_of,
)
from stackline.report.contents.chart_slots import Slot, slots_of
from stackline.report.words.marks import UNSURE_BELOW
from stackline.report.words.take_view import TakeView
from stackline.report.words.time_words import span_words
from stackline.shared.notes import Note, Span
from stackline.shared.take import Take
from stackline.shared.units import clock

BREAK_S = 4.0  # a silence longer than this breaks the top line
PART_BARS = 32  # a longer chart is folded into parts of so many pictures

Segment = tuple[float, float, float, float]  # x1, y1, x2, y2


@dataclass(frozen=True, kw_only=True)
class Box:
    """A sounding note within one bar's picture."""

    x: float
    y: float
    width: float
    height: float
    begins: bool
    unsure: bool
    of_line: bool = False


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A stretch of a bar in which something else is heard; named where it begins."""

    x: float
    width: float
    name: str


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One picture: its time, what stands in it, and its words for those who cannot see it.

    out_of_time: whether it belongs to a passage without the pulse of the take. again: the symbol
    that goes on from the bar before, for a bar that begins a row. missed: where something that was
    due did not land.
    """

    title: str
    start_s: float
    end_s: float
    beats: tuple[float, ...]
    out_of_time: bool
    strips: tuple[Strip, ...]
    boxes: tuple[Box, ...]
    symbols: tuple[Label, ...]
    again: str
    degrees: tuple[Label, ...]
    missed: tuple[Label, ...]
    top_line: tuple[Segment, ...]
    line: tuple[Label, ...]
    height: float
    spoken: str


def bars(view: TakeView) -> tuple[Bar, ...]:
    """The pictures of a take; none where nothing was heard."""
    take = view.take
    if not take.notes:
        return ()
    slots = [slot for slot in slots_of(take) if slot.end_s > slot.start_s]
    scale, homes = Scale(take), _homes(take, slots)
    return tuple(
        _bar(view, slot, scale, [i for i, home in enumerate(homes) if home == number])
        for number, slot in enumerate(slots)
    )


@dataclass(frozen=True, kw_only=True)
class ChartPart:
    """Bars under one heading; heading: empty where the chart is shown whole."""

    heading: str
    bars: tuple[Bar, ...]
    is_open: bool


def chart_parts(drawn: Sequence[Bar]) -> list[ChartPart]:
    """A long chart in parts of `PART_BARS` pictures, of which only the first is open."""
    if len(drawn) <= PART_BARS:
        return [ChartPart(heading="", bars=tuple(drawn), is_open=True)] if drawn else []
    parts = [drawn[i : i + PART_BARS] for i in range(0, len(drawn), PART_BARS)]
    return [
        ChartPart(
            heading=f"{part[0].title} to {part[-1].title}", bars=tuple(part), is_open=number == 0
        )
        for number, part in enumerate(parts)
    ]


def _homes(take: Take, slots: list[Slot]) -> list[int]:
    """The bar of each voicing: that of its position, so that a chord struck a little early
    stands in the bar it belongs to; else the bar that its onset falls into.
    """
    named = {slot.title: i for i, slot in enumerate(slots) if slot.beats_s}
    starts = [slot.start_s for slot in slots]
    homes = []
    for voicing in take.voicings:
        attack = voicing.attack
        by_time = max(bisect_right(starts, attack.onset_s) - 1, 0)
        title = str(attack.position.bar) if attack.position else ""
        by_name = named.get(title, by_time)
        homes.append(by_name if abs(by_name - by_time) <= 1 else by_time)
    return homes


def _bar(view: TakeView, slot: Slot, scale: Scale, inside: list[int]) -> Bar:
    take, line = view.take, view.line
    symbols = tuple(symbols_of(take, slot, inside))
    over = tuple(line_of(line, slot))
    return Bar(
        title=slot.title,
        start_s=slot.start_s,
        end_s=slot.end_s,
        beats=tuple(slot.x(time_s) for time_s in slot.beats_s),
        out_of_time=slot.out_of_time,
        strips=tuple(_strips(take.not_playing, slot)),
        boxes=tuple(_boxes(take.notes, slot, scale)),
        symbols=symbols,
        again=held_over(take, slot, symbols),
        degrees=tuple(degree_of(take, slot, scale, i) for i in inside),
        missed=tuple(missed_of(view, slot, inside)),
        top_line=_top_line(take, slot, scale),
        line=over,
        height=BAR_H + LINE_H * bool(line),
        spoken=_spoken(take, slot, inside, over),
    )


def _strips(spans: tuple[Span, ...], slot: Slot) -> Iterator[Strip]:
    """What is not playing, cut at the bar's edges."""
    for span in _within(spans, slot):
        left, right = (slot.x(min(max(at, slot.start_s), slot.end_s))
                       for at in (span.start_s, span.end_s))  # fmt: skip
        yield Strip(
            x=left, width=right - left, name=span.kind if span.start_s >= slot.start_s else ""
        )


def _within(spans: tuple[Span, ...], slot: Slot) -> list[Span]:
    return [one for one in spans if one.start_s < slot.end_s and one.end_s > slot.start_s]


def _boxes(notes: tuple[Note, ...], slot: Slot, scale: Scale) -> Iterator[Box]:
    height = max(scale.unit * 0.8, 2.4)
    for note in notes:
        if note.onset_s >= slot.end_s or note.offset_s <= slot.start_s:
            continue
        left = slot.x(max(note.onset_s, slot.start_s))
        right = slot.x(min(note.offset_s, slot.end_s))
        yield Box(
            x=left,
            y=scale.y(note.midi) - height / 2,
            width=max(right - left, 1.5),
            height=height,
            begins=note.onset_s >= slot.start_s,
            unsure=note.confidence < UNSURE_BELOW,
            of_line=note.is_of_line,
        )


def _top_line(take: Take, slot: Slot, scale: Scale) -> tuple[Segment, ...]:
    """The straight pieces of the top line that cross this bar, cut at its edges."""
    pieces = []
    for before, after in pairwise(take.voicings):
        start, end = before.attack.onset_s, after.attack.onset_s
        apart = start >= slot.end_s or end <= slot.start_s or end <= start
        if apart or end - before.attack.offset_s > BREAK_S:
            continue
        y1, y2 = scale.y(before.top.midi), scale.y(after.top.midi)
        cut = max(start, slot.start_s), min(end, slot.end_s)
        heights = [y1 + (y2 - y1) * (time_s - start) / (end - start) for time_s in cut]
        pieces.append((slot.x(cut[0]), heights[0], slot.x(cut[1]), heights[1]))
    return tuple(pieces)


def _spoken_line(line: tuple[Label, ...]) -> str:
    return f"; a line over it plays {' '.join(one.text for one in line)}" if line else ""


def _spoken(take: Take, slot: Slot, inside: list[int], line: tuple[Label, ...]) -> str:
    """A bar in words: its chords and where the top line goes."""
    head = f"Bar {slot.title}" if slot.beats_s else f"From {clock(slot.start_s)}"
    head += ", out of time" if slot.out_of_time else ""
    played = _spoken_line(line)
    other = played + "".join(f"; {span_words(span)}" for span in _within(take.not_playing, slot))
    if not inside:
        return f"{head}: no voicing is struck{other}"
    told = [
        f"{take.voicings[i].chord.symbol.text} with the {take.voicings[i].top.degree} on top"
        for i in inside
    ]
    return f"{head}: {', '.join(told)}{other}"
