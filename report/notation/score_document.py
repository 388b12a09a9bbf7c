"""The score of a take as one HTML file: every page, to read on a screen or to print on A4.

No network, no script; the drawings are inside and follow the reader's light or dark theme. The
study sheet (`stackline.report.page.page`) is the place for sound and explanations.
"""

from markupsafe import Markup

from stackline.report.html import filled
from stackline.report.notation.engraving import engrave_score
from stackline.report.score.score_layout import lay_out
from stackline.report.words.page_text import facts
from stackline.report.words.take_view import TakeView


def render(view: TakeView) -> str:
    """The HTML text."""
    score = lay_out(view.take)
    pages = [Markup(svg) for svg in engrave_score(score)]
    return filled("score.html", title=score.title, facts=facts(view), pages=pages)
