"""The parts of a printed sheet, each a block of a known height: words, tables, voicings, shapes.

A block's drawing begins at its own upper left corner; `sheet_file` stacks blocks on
pages. Texts are those of the page (`page_rows`, `page_tables`); here they only
get their places. Lengths are in points.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from stackline.report.contents.keyboard_picture import KEYBOARD_H, brackets, markers, stretch_of
from stackline.report.contents.page_rows import Row, rows
from stackline.report.contents.page_tables import RateRow, ShapeRow, shape_rows
from stackline.report.contents.vocabulary import vocabulary
from stackline.report.printed.sheet_drawings import RULE, SOFT, TENSION, keyboard, voices
from stackline.report.printed.sheet_type import Type, fitted, put, wrapped
from stackline.shared.take import Take

WIDTH = 515.0
TEXT = Type(size=10.5)
SMALL = Type(size=8.5)
FAINT = replace(SMALL, colour=SOFT)
DOUBT = replace(SMALL, bold=True, colour=TENSION)
STRONG = Type(size=10.5, bold=True)
LEADING = 1.32  # of a line, in sizes
NAME_W, KEYS_W, GAP = 96.0, 236.0, 14.0
LEAST_LINES_H = 13.0  # for the voices between two keyboards
SHAPES_A_ROW = 3
LONGEST_CELL = 4  # lines of places under a shape


@dataclass(frozen=True, kw_only=True)
class Block:
    """A part of the sheet. keep: it must not be the last on its page."""

    height: float
    svg: str
    keep: bool = False


class Column:
    """Lines of text one under the other, from a top edge down."""

    def __init__(self, x: float, limit: float, y: float = 0.0) -> None:
        self.x, self.limit, self.y = x, limit, y
        self.svg = ""

    def add(self, text: str, style: Type, before: float = 0.0) -> None:
        """A text in as many lines as it needs; nothing for an empty one."""
        if not text:
            return
        self.y += before
        for line in wrapped(text, style, self.limit):
            self.y += style.size * LEADING
            self.svg += put(line, self.x, self.y - style.size * (LEADING - 1), style)


def rule(y: float, x: float = 0.0, wide: float = WIDTH) -> str:
    """A hairline."""
    return f'<path d="M{x:.1f} {y:.1f}h{wide:.1f}" stroke="{RULE}" stroke-width="0.6"/>'


def heading(text: str) -> Block:
    """The title of a section."""
    return Block(height=40, svg=put(text, 0, 27, Type(size=14)) + rule(33), keep=True)


def paragraph(text: str, style: Type = TEXT) -> Block:
    """Words over the whole width."""
    column = Column(0, WIDTH)
    column.add(text, style)
    return Block(height=column.y + 2, svg=column.svg)


def rate_tables(tables: Sequence[tuple[str, Sequence[RateRow]]]) -> Block:
    """Tables of what landed side by side, each under the name of its rows."""
    wide = (WIDTH - GAP * 2) / 2
    drawn = [_rate_table(head, found, i * (wide + GAP * 2), wide)
             for i, (head, found) in enumerate(tables)]  # fmt: skip
    return Block(height=max(one.height for one in drawn), svg="".join(one.svg for one in drawn))


def _rate_table(head: str, found: Sequence[RateRow], x: float, wide: float) -> Block:
    marks = (x + wide * 0.46, x + wide * 0.72)
    parts = [put(head, x, 10, FAINT), put("landed", marks[0], 10, FAINT),
             put("not landed", marks[1], 10, FAINT), rule(14, x, wide)]  # fmt: skip
    for i, row in enumerate(found):
        y = 27 + 15 * i
        parts += [
            put(row.label, x, y, STRONG),
            put(f"{row.landed} of {row.due}", marks[0], y, TEXT),
            put(str(row.missed) if row.missed else "", marks[1], y, replace(DOUBT, size=10.5)),
            rule(y + 4, x, wide),
        ]
    return Block(height=24.0 + 15 * len(found), svg="".join(parts))


def voicing_blocks(take: Take) -> Iterator[Block]:
    """A row a voicing; one that is only struck again shares the row of the first."""
    stretch = stretch_of(midi for voicing in take.voicings for midi in voicing.pitches)
    scale = KEYS_W / stretch.width
    found = list(zip(rows(take, stretch), take.voicings, strict=True))
    runs = [list(run) for _, run in
            groupby(found, lambda one: (one[1].chord.symbol, one[1].pitches))]  # fmt: skip
    for number, run in enumerate(runs):
        last = number == len(runs) - 1
        doubtful = next((row for row, _ in run if row.doubt), run[0][0])
        name, told = _name(run[0][0], [row.place for row, _ in run], doubtful), _told(
            run[0][0], run[-1][0], doubtful)  # fmt: skip
        keys_h = KEYBOARD_H * scale
        height = max(name.y, told.y, keys_h + (0.0 if last else LEAST_LINES_H))
        shown = keyboard(run[0][0].markers, run[0][0].brackets, stretch, scale,
                         bool(doubtful.doubt))  # fmt: skip
        below = "" if last else voices(run[-1][0].lines, scale, height - keys_h)
        yield Block(
            height=height,
            svg=f'{name.svg}<g transform="translate({NAME_W} 0)">{shown}'
            f'<g transform="translate(0 {keys_h:.1f})">{below}</g></g>{told.svg}',
        )


def _name(row: Row, places: Sequence[str], doubtful: Row) -> Column:
    """Where, what, and whether it is sure."""
    column = Column(0, NAME_W - 8, 3)
    column.add(", ".join(places), replace(SMALL, bold=True))
    column.add(row.symbol, Type(size=14))
    column.add(f"? {doubtful.doubt}" if doubtful.doubt else "", DOUBT)
    column.add(f"top: {row.top}", FAINT, 1)
    return column


def _told(row: Row, last: Row, doubtful: Row) -> Column:
    """Stack, structure, doubts, and what became of the resolutions into the next voicing."""
    x = NAME_W + KEYS_W + GAP
    column = Column(x, WIDTH - x, 3)
    column.add(row.stack, STRONG)
    column.add(row.explained, SMALL)
    column.add(f"? {doubtful.why}" if doubtful.why else "", replace(SMALL, colour=TENSION))
    for warning in row.warnings:
        column.add(f"! {warning}", SMALL)
    if doubtful.other:
        column.add(f"or {doubtful.other.symbol} ({doubtful.other.chance})", FAINT)
    column.add(last.parallel, replace(SMALL, bold=True), 2)
    landed = [one.short + _how(one.sign) for one in last.resolved if one.arrived]
    missed = [one.short for one in last.resolved if not one.arrived]
    column.add(f"landed: {', '.join(landed)}" if landed else "", SMALL, 2)
    column.add(f"not landed: {', '.join(missed)}" if missed else "", DOUBT, 0 if landed else 2)
    column.y += 6
    return column


def _how(sign: str) -> str:
    """``8ve`` or ``late`` in brackets, nothing for a plain landing."""
    _, _, how = sign.partition(" ")
    return f" ({how})" if how else ""


def shape_blocks(take: Take) -> Iterator[Block]:
    """The vocabulary, some shapes beside each other."""
    uses = vocabulary(take)
    cells = list(zip(shape_rows(take, uses), uses, strict=True))
    wide = (WIDTH - GAP * (SHAPES_A_ROW - 1)) / SHAPES_A_ROW
    for first in range(0, len(cells), SHAPES_A_ROW):
        drawn = [
            _shape(take, row, use.example, i * (wide + GAP), wide)
            for i, (row, use) in enumerate(cells[first : first + SHAPES_A_ROW])
        ]
        yield Block(height=max(one.height for one in drawn), svg="".join(one.svg for one in drawn))


def _shape(take: Take, row: ShapeRow, example: int, x: float, wide: float) -> Block:
    """A shape: its keys where it was first played, stack, kind, how often and where."""
    voicing = take.voicings[example]
    stretch = stretch_of(voicing.pitches)
    scale = min(wide / stretch.width, 0.5)
    shown = keyboard(markers(voicing, stretch), brackets(voicing, stretch), stretch, scale)
    column = Column(x, wide, KEYBOARD_H * scale + 2)
    column.add(row.stack, STRONG)
    column.add(f"on {row.quality}: {row.structure}", SMALL)
    times = {1: "once", 2: "twice"}.get(row.count, f"{row.count} times")
    column.add(f"{times}, over {row.keys}", SMALL)
    column.add(_places(row, wide), FAINT)
    return Block(
        height=column.y + 12, svg=f'<g transform="translate({x:.1f} 0)">{shown}</g>{column.svg}'
    )


def _places(row: ShapeRow, wide: float) -> str:
    text = ", ".join(link.place for link in row.links)
    return fitted(f"{text} {row.more}".rstrip(), FAINT, wide * LONGEST_CELL)
