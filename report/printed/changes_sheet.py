"""The changes of a take as a PDF: bars with chords and stacks on one sheet of A4, to play from.

Four bars a line, as a lead sheet has (common practice), set as large as one sheet allows; what is
too long for that at a size that can be read goes on to more. Here the grid becomes lines;
``templates/changes.typ`` gives everything its place.
"""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from stackline.report.contents.changes_grid import ChangesGrid, GridBracket, changes_grid
from stackline.report.printed.typesetting import typeset
from stackline.report.words.page_text import facts
from stackline.report.words.summary import title
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint

BARS_A_LINE = 4  # common practice


def render(view: TakeView) -> bytes:
    """The bytes of the PDF.

    Raises Complaint where the extra is not installed, or where the take has no chord.
    """
    take = view.take
    if not take.voicings:
        raise Complaint("no voicing was heard in this take, so there are no changes to print")
    grid = changes_grid(take)
    data = {
        "title": title(take),
        "made_by": f"stackline {take.version}; ear: {take.ear}",
        "facts": facts(view),
        "bars_a_line": BARS_A_LINE,
        "lines": list(grid_lines(grid)),
    }
    instead = "choose the format page and print it"
    return typeset("changes.typ", data, instead=instead, over=["changes_grid.typ"])


def grid_lines(grid: ChangesGrid) -> Iterator[dict[str, Any]]:
    """The lines, each with its bars and the parts of brackets that fall into it.

    A bracket over two lines is named in the one that has more of it.
    """
    for start in range(0, len(grid.bars), BARS_A_LINE):
        bars = grid.bars[start : start + BARS_A_LINE]
        stop = start + BARS_A_LINE
        parts: list[dict[str, Any]] = [
            {
                "label": one.label if _named_from(grid, one) in range(start, stop) else "",
                "first": (one.first[0] - start, one.first[1]) if one.first[0] >= start else None,
                "last": (one.last[0] - start, one.last[1]) if one.last[0] < stop else None,
                "lane": one.lane,
                "unsure": one.unsure,
            }
            for one in grid.brackets
            if one.first[0] < stop and one.last[0] >= start
        ]
        yield {
            "bars": [asdict(bar) for bar in bars],
            "brackets": parts,
            "lanes": max((part["lane"] + 1 for part in parts), default=0),
            "is_last": stop >= len(grid.bars),
        }


def _named_from(grid: ChangesGrid, bracket: GridBracket) -> int:
    """The first bar of the line that a bracket's name stands in: the longer of its first two."""
    (first, chord), (last, end) = bracket.first, bracket.last
    following = first - first % BARS_A_LINE + BARS_A_LINE
    if last < following:
        return first
    here = following - first - grid.bars[first].chords[chord].x
    closing = grid.bars[last].chords[end]
    there = min(last + closing.x + closing.width - following, BARS_A_LINE)
    return following if there > here else first
