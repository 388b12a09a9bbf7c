"""A take cut into the pictures of its chart: bars, and stretches of plain time.

Where there are beats a picture is a bar. Without a beat grid it is `PLAIN_S` seconds; what lies
between beats round a passage out of time is cut evenly into pictures of about that, and the
bar before it ends where it begins. Before the first and after the last bar of a take in time
the bars go on, without beats.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

from stackline.shared.notes import Attack, BeatGrid
from stackline.shared.take import Take
from stackline.shared.units import clock

BAR_W = 240.0  # of a picture, in drawing units
PLAIN_S = 4.0
SHORTEST_BEAT_S = 0.1
EARLY_S = 0.15  # a chord struck by less than this before the first downbeat is meant for it


@dataclass(frozen=True, kw_only=True)
class Slot:
    """A stretch of time that becomes one picture; title: its bar's number, or the clock."""

    title: str
    start_s: float
    end_s: float
    beats_s: tuple[float, ...]
    out_of_time: bool = False

    def place(self, attack: Attack) -> float:
        """An attack's place from the left edge, kept inside."""
        return min(max(self.x(attack.onset_s), 0.0), BAR_W)

    def x(self, time_s: float) -> float:
        """A time's place from the left edge."""
        return BAR_W * (time_s - self.start_s) / (self.end_s - self.start_s)


def slots_of(take: Take) -> list[Slot]:
    """The stretches of a take that has notes, in order and without gaps."""
    first = min(note.onset_s for note in take.notes)
    last = max(note.offset_s for note in take.notes)
    if not _is_steady(take.grid):
        whole = int(first // PLAIN_S), int(last // PLAIN_S) + 1
        edges = [PLAIN_S * i for i in range(whole[0], whole[1] + 1)]
        return [_slot(clock(a), a, b) for a, b in pairwise(edges)]
    rows = _grid_slots(take.grid, first, take.source.duration_s)
    struck = max(note.onset_s for note in take.notes)
    ends = [  # no extra bar for a tail alone
        last if slot.beats_s or slot.out_of_time else struck for slot in rows
    ]
    shown = [
        slot for slot, end in zip(rows, ends, strict=True)
        if slot.end_s > first and slot.start_s <= end
    ]  # fmt: skip
    return _opened(shown, first)


def _opened(slots: list[Slot], first_s: float) -> list[Slot]:
    """No bar is shown for what only comes a little before the first downbeat: that bar is then
    open to the left by so much.
    """
    if len(slots) < 2 or slots[0].beats_s or slots[0].out_of_time or not slots[1].beats_s:
        return slots
    if first_s < slots[1].start_s - EARLY_S:
        return slots
    return [replace(slots[1], start_s=first_s), *slots[2:]]


def _is_steady(grid: BeatGrid) -> bool:
    """Whether the beats can carry bars: two or more in a row, and not closer than a hand beats."""
    return _period_s(grid) >= SHORTEST_BEAT_S


def _period_s(grid: BeatGrid) -> float:
    """The mean time from beat to beat, passages out of time left out; 0 where there is none."""
    rows = grid.stretches()
    count = sum(after - first - 1 for first, after in rows)
    spans = [grid.beats[after - 1].time_s - grid.beats[first].time_s for first, after in rows]
    return sum(spans) / count if count else 0.0


def _grid_slots(grid: BeatGrid, first_s: float, duration_s: float) -> list[Slot]:
    """Bars of the grid, what lies between them round passages out of time, and before and after
    them bars of the mean length or such passages. first_s: when the first note is struck.
    """
    measured = _measured(grid)
    slots: list[Slot] = []
    for bar in measured:
        gap_s = slots[-1].end_s if slots else 0.0, bar.start_s
        if slots and gap_s[1] > gap_s[0]:
            slots += _free_slots(*gap_s)
        slots.append(bar)
    bar_s = _period_s(grid) * grid.beats_per_bar
    return [
        *_before(grid, first_s, slots[0].start_s, bar_s),
        *slots,
        *_after(grid, slots[-1].end_s, duration_s, bar_s),
    ]


def _measured(grid: BeatGrid) -> list[Slot]:
    """The bars that hold beats; the last before a passage out of time ends where that begins."""
    period, numbers = _period_s(grid), grid.bars()
    slots = []
    for first, after in grid.stretches():
        starts: dict[int, list[float]] = {}
        for beat, number in zip(grid.beats[first:after], numbers[first:after], strict=True):
            starts.setdefault(number, []).append(beat.time_s)
        rows = sorted(starts.items())
        last_s = rows[-1][1][-1]
        breaks = [one.start_s for one in grid.out_of_time if one.start_s >= last_s]
        breaks += [beat.time_s for beat in grid.beats[after : after + 1]]
        ends = [beats[0] for _, beats in rows[1:]] + [min([last_s + period, *breaks])]
        slots += [
            _slot(str(number), beats[0], end, tuple(beats))
            for (number, beats), end in zip(rows, ends, strict=True)
        ]
    return slots


def _before(grid: BeatGrid, first_s: float, bars_s: float, bar_s: float) -> list[Slot]:
    """Up to the first bar at `bars_s`: from the first note, or from the start of the recording."""
    inside = [one for one in grid.out_of_time if one.start_s < bars_s]
    if inside:
        return _free_slots(min(inside[0].start_s, first_s), bars_s)
    slots: list[Slot] = []
    while bars_s > 0:
        slots.insert(0, _slot("", max(bars_s - bar_s, 0.0), bars_s))
        bars_s = slots[0].start_s
    return slots


def _after(grid: BeatGrid, last_s: float, duration_s: float, bar_s: float) -> list[Slot]:
    """From the last bar to the end of the recording."""
    inside = [one for one in grid.out_of_time if one.end_s > last_s]
    if inside:
        return _free_slots(last_s, max(duration_s, inside[-1].end_s))
    slots: list[Slot] = []
    while last_s < duration_s:
        slots.append(_slot("", last_s, last_s + bar_s))
        last_s = slots[-1].end_s
    return slots


def _free_slots(start_s: float, end_s: float) -> list[Slot]:
    """A passage out of time in equal pictures of about `PLAIN_S` seconds, named by the clock."""
    count = max(round((end_s - start_s) / PLAIN_S), 1)
    edges = [start_s + (end_s - start_s) * i / count for i in range(count)] + [end_s]
    return [replace(_slot(clock(a), a, b), out_of_time=True) for a, b in pairwise(edges)]


def _slot(title: str, start_s: float, end_s: float, beats_s: tuple[float, ...] = ()) -> Slot:
    return Slot(title=title, start_s=start_s, end_s=end_s, beats_s=beats_s)
