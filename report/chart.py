"""The take as a chart, bar after bar: notes in time, chord symbols above, the top line through.

A bar is one small picture of fixed size in drawing units; the page sets as many in a line
as fit, like a lead sheet. Within a bar time runs evenly from left to right, so that a
click is a moment in the recording. Without a beat grid a picture is `PLAIN_S` seconds.
Pictures run from the first to the last note without a gap; silence before and after is
left out.
"""

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from report.marks import UNSURE_BELOW, doubts
from report.time_words import span_words
from shared.notes import Attack, BeatGrid, Note, Span
from shared.take import Take
from shared.units import clock

BAR_W = 240.0
SYMBOL_H = 34.0  # two lines of symbols
ROLL_H = 120.0
LABEL_H = 14.0  # bar number or time below the notes
BAR_H = SYMBOL_H + ROLL_H + LABEL_H
PLAIN_S = 4.0
SYMBOL_UNIT = 8.2  # about one character of a chord symbol
UPPER_LINE, LOWER_LINE = 13.0, 29.0  # baselines of the symbols
BREAK_S = 4.0  # a silence longer than this breaks the top line
SHORTEST_BEAT_S = 0.1
EARLY_S = 0.15  # a chord struck by less than this before the first downbeat is meant for it
MARGIN_MIDI = 3  # semitones of air above the highest and below the lowest note

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


@dataclass(frozen=True, kw_only=True)
class Label:
    """Text at a place; `index` is the voicing that it speaks of."""

    x: float
    y: float
    text: str
    index: int
    unsure: bool = False


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A stretch of a bar in which something else is heard; named where it begins."""

    x: float
    width: float
    name: str


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One picture: its time, what stands in it, and its words for those who cannot see it."""

    title: str
    start_s: float
    end_s: float
    beats: tuple[float, ...]
    strips: tuple[Strip, ...]
    boxes: tuple[Box, ...]
    symbols: tuple[Label, ...]
    degrees: tuple[Label, ...]
    top_line: tuple[Segment, ...]
    spoken: str


@dataclass(frozen=True, kw_only=True)
class _Slot:
    """A stretch of time that becomes one bar."""

    title: str
    start_s: float
    end_s: float
    beats_s: tuple[float, ...]

    def place(self, attack: Attack) -> float:
        """An attack's place from the left edge, kept inside."""
        return min(max(self.x(attack.onset_s), 0.0), BAR_W)

    def x(self, time_s: float) -> float:
        """A time's place from the left edge."""
        return BAR_W * (time_s - self.start_s) / (self.end_s - self.start_s)


def bars(take: Take) -> tuple[Bar, ...]:
    """The pictures of a take; none where nothing was heard."""
    if not take.notes:
        return ()
    slots = [slot for slot in _slots(take) if slot.end_s > slot.start_s]
    scale, homes = _Scale(take), _homes(take, slots)
    return tuple(
        _bar(take, slot, scale, [i for i, home in enumerate(homes) if home == number])
        for number, slot in enumerate(slots)
    )


def _homes(take: Take, slots: list[_Slot]) -> list[int]:
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


def _slots(take: Take) -> list[_Slot]:
    first = min(note.onset_s for note in take.notes)
    last = max(note.offset_s for note in take.notes)
    if not _is_steady(take.grid):
        whole = int(first // PLAIN_S), int(last // PLAIN_S) + 1
        edges = [PLAIN_S * i for i in range(whole[0], whole[1] + 1)]
        return [_slot(clock(a), a, b) for a, b in pairwise(edges)]
    rows = _grid_slots(take.grid, take.source.duration_s)
    struck = max(note.onset_s for note in take.notes)
    ends = [last if slot.beats_s else struck for slot in rows]  # no extra bar for a tail alone
    shown = [
        slot for slot, end in zip(rows, ends, strict=True)
        if slot.end_s > first and slot.start_s <= end
    ]  # fmt: skip
    return _opened(shown, first)


def _opened(slots: list[_Slot], first_s: float) -> list[_Slot]:
    """No bar is shown for what only comes a little before the first downbeat: that bar is then
    open to the left by so much.
    """
    if len(slots) < 2 or slots[0].beats_s or not slots[1].beats_s:
        return slots
    if first_s < slots[1].start_s - EARLY_S:
        return slots
    return [replace(slots[1], start_s=first_s), *slots[2:]]


def _is_steady(grid: BeatGrid) -> bool:
    """Whether the beats can carry bars: at least two, and not closer than a hand can beat."""
    if len(grid.beats) < 2:
        return False
    span_s = grid.beats[-1].time_s - grid.beats[0].time_s
    return span_s / (len(grid.beats) - 1) >= SHORTEST_BEAT_S


def _grid_slots(grid: BeatGrid, duration_s: float) -> list[_Slot]:
    """Bars of the grid, with bars of the mean length before and after it."""
    times = [beat.time_s for beat in grid.beats]
    numbers = grid.bars()
    period = (times[-1] - times[0]) / (len(times) - 1)
    starts: dict[int, list[float]] = {}
    for time_s, number in zip(times, numbers, strict=True):
        starts.setdefault(number, []).append(time_s)
    slots = []
    for number, beats in sorted(starts.items()):
        following = starts.get(number + 1)
        end = following[0] if following else beats[-1] + period
        slots.append(_slot(str(number), beats[0], end, tuple(beats)))
    bar_s = period * grid.beats_per_bar
    while slots[0].start_s > 0:
        slots.insert(0, _slot("", max(slots[0].start_s - bar_s, 0.0), slots[0].start_s))
    while slots[-1].end_s < duration_s:
        slots.append(_slot("", slots[-1].end_s, slots[-1].end_s + bar_s))
    return slots


def _slot(title: str, start_s: float, end_s: float, beats_s: tuple[float, ...] = ()) -> _Slot:
    return _Slot(title=title, start_s=start_s, end_s=end_s, beats_s=beats_s)


def pitch_rows(take: Take) -> tuple[int, int]:
    """The lowest and the highest pitch that the chart has a row for."""
    pitches = [note.midi for note in take.notes] or [60]
    return min(pitches) - MARGIN_MIDI, max(pitches) + MARGIN_MIDI + 2  # degrees stand on top


class _Scale:
    """Pitch to height, the same in every bar; a row is a semitone."""

    def __init__(self, take: Take) -> None:
        low, self._high = pitch_rows(take)
        self.unit = ROLL_H / (self._high - low + 1)

    def y(self, midi: int) -> float:
        """Middle of a pitch's row."""
        return SYMBOL_H + (self._high - midi + 0.5) * self.unit


def _bar(take: Take, slot: _Slot, scale: _Scale, inside: list[int]) -> Bar:
    return Bar(
        title=slot.title,
        start_s=slot.start_s,
        end_s=slot.end_s,
        beats=tuple(slot.x(time_s) for time_s in slot.beats_s),
        strips=tuple(_strips(take.not_playing, slot)),
        boxes=tuple(_boxes(take.notes, slot, scale)),
        symbols=tuple(_symbols(take, slot, inside)),
        degrees=tuple(_degree(take, slot, scale, i) for i in inside),
        top_line=_top_line(take, slot, scale),
        spoken=_spoken(take, slot, inside),
    )


def _strips(spans: tuple[Span, ...], slot: _Slot) -> Iterator[Strip]:
    """What is not playing, cut at the bar's edges."""
    for span in _within(spans, slot):
        left, right = (slot.x(min(max(at, slot.start_s), slot.end_s))
                       for at in (span.start_s, span.end_s))  # fmt: skip
        yield Strip(
            x=left, width=right - left, name=span.kind if span.start_s >= slot.start_s else ""
        )


def _within(spans: tuple[Span, ...], slot: _Slot) -> list[Span]:
    return [one for one in spans if one.start_s < slot.end_s and one.end_s > slot.start_s]


def _boxes(notes: tuple[Note, ...], slot: _Slot, scale: _Scale) -> Iterator[Box]:
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
        )


def _symbols(take: Take, slot: _Slot, inside: list[int]) -> Iterator[Label]:
    """The symbols that are new, on the upper line where the lower one is taken."""
    taken = {LOWER_LINE: 0.0, UPPER_LINE: 0.0}
    for i in inside:
        voicing = take.voicings[i]
        symbol = voicing.chord.symbol.text
        if i and take.voicings[i - 1].chord.symbol.text == symbol:
            continue
        width = SYMBOL_UNIT * (len(symbol) + 1)
        x = max(min(slot.place(voicing.attack), BAR_W - width), 0.0)
        y = LOWER_LINE if taken[LOWER_LINE] <= x else UPPER_LINE
        x = max(x, taken[y])
        taken[y] = x + width
        yield Label(x=x, y=y, text=symbol, index=i, unsure=bool(doubts(voicing)))


def _degree(take: Take, slot: _Slot, scale: _Scale, i: int) -> Label:
    """The degree of the top note, above it."""
    voicing = take.voicings[i]
    y = scale.y(voicing.top.midi) - scale.unit / 2 - 4
    return Label(x=slot.place(voicing.attack), y=y, text=str(voicing.top.degree), index=i)


def _top_line(take: Take, slot: _Slot, scale: _Scale) -> tuple[Segment, ...]:
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


def _spoken(take: Take, slot: _Slot, inside: list[int]) -> str:
    """A bar in words: its chords and where the top line goes."""
    head = f"Bar {slot.title}" if slot.beats_s else f"From {clock(slot.start_s)}"
    other = "".join(f"; {span_words(span)}" for span in _within(take.not_playing, slot))
    if not inside:
        return f"{head}: no voicing is struck{other}"
    told = [
        f"{take.voicings[i].chord.symbol.text} with the {take.voicings[i].top.degree} on top"
        for i in inside
    ]
    return f"{head}: {', '.join(told)}{other}"
