"""Several takes as one booklet on A4, to hand out: contents, then each take, to play from.

A take begins on a page of its own: what was played, what landed and what to do next, its changes
as a grid, and under them its score, system by system, so that no page is left half empty. Here
takes become data; ``templates/booklet.typ`` gives everything its place.
"""

from collections.abc import Sequence
from typing import Any

from stackline.report.contents import page_top
from stackline.report.contents.changes_grid import changes_grid
from stackline.report.notation.score_in_page import has_score
from stackline.report.printed.changes_sheet import BARS_A_LINE, grid_lines
from stackline.report.printed.pdf_file import drawn_to_print
from stackline.report.printed.typesetting import typeset
from stackline.report.score.score_layout import lay_out
from stackline.report.words.page_text import facts, hands_note
from stackline.report.words.summary import title
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint

SYSTEMS = {
    "fontTextLiberation": True,
    "smuflTextFont": "none",
    "adjustPageHeight": True,
    "pageHeight": 700,
    "pageMarginTop": 10,
    "pageMarginBottom": 10,
    "pageMarginLeft": 10,
    "pageMarginRight": 10,
}  # tenths of a millimetre: a drawing holds one system, two where they are low


def render(views: Sequence[TakeView], name: str) -> bytes:
    """The bytes of the PDF. name: stands on the first page.

    Raises Complaint where the extra is not installed, or where no take has a voicing.
    """
    heard = [view for view in views if view.take.voicings]
    if not heard:
        raise Complaint("no voicing was heard in these takes, so there is nothing to print")
    data = {
        "title": name,
        "made_by": f"stackline {heard[0].take.version}",
        "facts": "",
        "bars_a_line": BARS_A_LINE,
        "takes": [_take(view) for view in heard],
        "silent": [title(view.take) for view in views if not view.take.voicings],
    }
    instead = "choose the format page and print each take"
    return typeset("booklet.typ", data, instead=instead, over=["changes_grid.typ"])


def _take(view: TakeView) -> dict[str, Any]:
    take = view.take
    played, landed, next_step = (
        page_top.played(take),
        page_top.landed(view),
        page_top.next_step(view),
    )
    return {
        "title": title(take),
        "facts": facts(view),
        "played": [played.headline, *played.lines],
        "landed": [landed.headline, *landed.lines],
        "next": [] if next_step is None else [next_step.words, next_step.where],
        "lines": list(grid_lines(changes_grid(view.take))),
        "systems": drawn_to_print(lay_out(take), SYSTEMS) if has_score(take) else [],
        "note": hands_note(take),
    }
