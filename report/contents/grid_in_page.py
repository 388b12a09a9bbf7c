"""The changes grid as the page shows it: each bar with its chords, what to play, bracket pieces.

Everything is in shares of a bar's width, so that a template places it without arithmetic. A bracket
that runs over several bars becomes one piece a bar: its first has the label, its last the end.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from stackline.report.contents.changes_grid import (
    ChangesGrid,
    GridBar,
    GridBracket,
    GridChord,
    changes_grid,
)
from stackline.report.contents.page_rows import end_s
from stackline.shared.take import Take

PART_BARS = 32  # a longer grid is folded behind its first bars


@dataclass(frozen=True, kw_only=True)
class Sounding:
    """A chord of the grid, and the stretch of the recording (seconds) in which it is played."""

    chord: GridChord
    from_s: str
    to_s: str


@dataclass(frozen=True, kw_only=True)
class Piece:
    """The part of a bracket over one bar: left and width in shares of the bar; label where it
    begins, else empty.
    """

    left: float
    width: float
    label: str
    begins: bool
    ends: bool
    lane: int
    unsure: bool


@dataclass(frozen=True, kw_only=True)
class PageBar:
    """One bar of the grid on the page."""

    bar: GridBar
    chords: tuple[Sounding, ...]
    pieces: tuple[Piece, ...]


def page_bars(take: Take) -> list[PageBar]:
    """The bars in order; none where the take has no voicings."""
    if not take.voicings:
        return []
    grid = changes_grid(take)
    firsts = [chord.index for bar in grid.bars for chord in bar.chords]
    lasts = dict(zip(firsts, [*(i - 1 for i in firsts[1:]), len(take.voicings) - 1], strict=True))
    return [
        PageBar(
            bar=bar,
            chords=tuple(_sounding(take, chord, lasts[chord.index]) for chord in bar.chords),
            pieces=tuple(_pieces(grid, number)),
        )
        for number, bar in enumerate(grid.bars)
    ]


def lanes(bars: Sequence[PageBar]) -> int:
    """How many brackets stand over each other at most."""
    return max((piece.lane + 1 for bar in bars for piece in bar.pieces), default=0)


def _sounding(take: Take, chord: GridChord, last: int) -> Sounding:
    start = take.voicings[chord.index].attack.onset_s
    return Sounding(chord=chord, from_s=f"{start:.3f}", to_s=f"{end_s(take, last):.3f}")


def _pieces(grid: ChangesGrid, number: int) -> list[Piece]:
    return [
        _piece(grid, bracket, number)
        for bracket in grid.brackets
        if bracket.first[0] <= number <= bracket.last[0]
    ]


def _piece(grid: ChangesGrid, bracket: GridBracket, number: int) -> Piece:
    begins, ends = number == bracket.first[0], number == bracket.last[0]
    first = grid.bars[bracket.first[0]].chords[bracket.first[1]]
    last = grid.bars[bracket.last[0]].chords[bracket.last[1]]
    left = first.x if begins else 0.0
    right = last.x + last.width if ends else 1.0
    return Piece(
        left=left,
        width=max(right - left, 0.02),
        label=bracket.label if begins else "",
        begins=begins,
        ends=ends,
        lane=bracket.lane,
        unsure=bracket.unsure,
    )
