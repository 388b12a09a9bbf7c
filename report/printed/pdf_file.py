"""The score of a take as a PDF to print: A4, with its title, fonts inside.

Drawn by Verovio, page by page, and bound by ``templates/score.typ``. Verovio measures text by the
widths of Liberation Serif and typst sets it in a face a little narrower, so nothing overlaps.
"""

import re
from collections.abc import Mapping
from typing import Any

from stackline.report.notation.engraving import GLYPH_TEXT, drawn, plain_text
from stackline.report.printed.typesetting import typeset
from stackline.report.score.score_layout import lay_out
from stackline.report.score.score_model import TOP_COLOUR, Score
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint

SHEET = {
    "header": "auto",
    "fontTextLiberation": True,
    "smuflTextFont": "none",
    "pageMarginTop": 120,
    "pageMarginBottom": 120,
    "pageMarginLeft": 140,
    "pageMarginRight": 120,
}  # tenths of a millimetre
FACE, SIGNS_FACE = "Libertinus Serif", "New Computer Modern Math"
_ACCIDENTAL = re.compile("<tspan([^>]*)>(?=[\u266d\u266e\u266f]<)")
_BOLD = re.compile('class="rend" font-weight="bold"(>.*?</tspan></tspan>)')
_SIZE = re.compile(r'font-size="(\d+)px"')
BOLD_SCALE = 0.9  # its bold figures are so much wider than those that Verovio measured


def render(view: TakeView) -> bytes:
    """The bytes of the PDF.

    Raises Complaint where the extra is not installed, or where the take has nothing to write.
    """
    score = lay_out(view.take)
    if not score.bars:
        raise Complaint("nothing was heard in this take, so there is no score to put in a PDF")
    pages = drawn_to_print(score, SHEET)
    data = {"title": score.title, "pages": pages}
    return typeset("score.typ", data, instead="choose the format score and print it")


def drawn_to_print(score: Score, options: Mapping[str, Any]) -> list[str]:
    """Drawn pages of a score for typst's `image`; options of the engraver's own, as `SHEET`."""
    return [_printable(svg) for svg in drawn(score, dict(options))]


def _printable(svg: str) -> str:
    """A drawing with the top line coloured and its texts in faces that typst has.

    Accidentals are set in the second face, and so are the bold degrees beside them: typst sets
    a whole text in one face, and not bold, where the bold one of its faces lacks a sign.
    """
    style = f"g.top,g.missed {{fill:{TOP_COLOUR};color:{TOP_COLOUR}}}</style>"
    svg = GLYPH_TEXT.sub(plain_text, svg.replace("</style>", style, 1))
    svg = _ACCIDENTAL.sub(rf'<tspan\1 font-family="{SIGNS_FACE}">', svg)
    svg = _BOLD.sub(_bold_degree, svg)
    return re.sub(r'font-family="Liberation[^"]*"', f'font-family="{FACE}"', svg)


def _bold_degree(found: re.Match[str]) -> str:
    inside = _SIZE.sub(lambda size: f'font-size="{int(size[1]) * BOLD_SCALE:.0f}px"', found[1])
    return f'font-weight="bold" font-family="{SIGNS_FACE}"{inside}'
