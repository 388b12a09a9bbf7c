"""The score of a take as a PDF to print: A4, with its title, fonts inside.

Drawn by Verovio, bound by `pdf_pages`; text is set in the fonts that Verovio measured
it with, so nothing moves.
"""

import re

from stackline.report.notation.engraving import TOP_COLOUR, drawn
from stackline.report.printed.pdf_pages import A4_POINTS, TEXT_FONT, bound, check_libraries, faces
from stackline.report.score.score_layout import lay_out
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take

SHEET = {
    "header": "auto",
    "fontTextLiberation": True,
    "smuflTextFont": "none",
    "pageMarginTop": 120,
    "pageMarginBottom": 120,
    "pageMarginLeft": 140,
    "pageMarginRight": 120,
}  # tenths of a millimetre


def render(take: Take) -> bytes:
    """The bytes of the PDF.

    Raises Complaint where the extra is not installed, or where the take has nothing to write.
    """
    check_libraries("choose the format score and print it from the browser")
    score = lay_out(take)
    if not score.bars:
        raise Complaint("nothing was heard in this take, so there is no score to put in a PDF")
    family = faces()[0][0]
    return bound([_printable(svg, family) for svg in drawn(score, SHEET)], score.title)


def _printable(svg: str, family: str) -> str:
    """A drawing on A4, with the top line coloured and the text font called by its own name."""
    width, height = A4_POINTS
    svg = svg.replace("<svg ", f'<svg width="{width}" height="{height}" ', 1)
    style = f"g.top {{fill:{TOP_COLOUR};color:{TOP_COLOUR}}}</style>"
    svg = svg.replace("</style>", style, 1)
    return re.sub(rf'font-family="{TEXT_FONT}[^"]*"', f'font-family="{family}"', svg)
