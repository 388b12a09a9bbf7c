"""Engraved pages of a take: MEI in, SVG out, by Verovio.

Pages are A4 in proportion, with staves of the usual piano size (7 mm on A4) and no empty
space under the last system, unless `full` asks for whole sheets. Drawn in the colour of the
text around them (`currentColor`); notes of the top line take ``--score-top`` where the
surrounding style sets it. Classes: ``voicing-12`` on all that belongs to a voicing, ``top``,
``unsure``, and Verovio's own (``chord``, ``note``, ``harm``, ``measure``).

Ids are few, begin with `name` and a page number, and are the same every time; two scores
on one page need different names. Drawings hold no script, no link and no font: accidentals
in text are plain characters, glyphs are outlines.
"""

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import verovio

from stackline.report.notation import mei_file
from stackline.report.score.score_layout import lay_out
from stackline.report.score.score_model import TOP_COLOUR, Score
from stackline.shared.take import Take

WIDTH, HEIGHT = 2100, 2970  # A4 in tenths of a millimetre
STAFF_SCALE = 40  # percent; eight units of 9 at this scale make a staff of 7.2 mm on A4
GLYPH_FONT = "Leipzig"
TEXT_GLYPHS = {"\uea64": "\u266d", "\uea65": "\u266e", "\uea66": "\u266f", "\ueca5": "\u2669"}
# A tie that is shorter than a space or so reads as dirt (common practice). In units of half a
# space, and air beside each note, for chords with seconds reach out to both sides.
TIES = {"tieMinLength": 9.0, "leftMarginNote": 2.0, "rightMarginNote": 1.5}
FACES = "'Times New Roman', 'Liberation Serif', Times, serif"  # as wide as what Verovio measures
TEXT_SCALE = 0.54  # a text character beside the size that Verovio sets a glyph in

_ID = re.compile(r' id="(?!SCORE)[^"]*"')
_EMPTY = re.compile(r"<g(?: class=\"[^\"]*\")?/>")
_USE = re.compile(r' transform="translate\((-?\d+), (-?\d+)\) scale\(([\d.]+), \3\)"')
GLYPH_TEXT = re.compile(rf'<tspan([^>]*) font-family="{GLYPH_FONT}"([^>]*)>([^<]*)<')
_SIZE = re.compile(r'font-size="(\d+)px"')


def engrave(take: Take, *, name: str = "score") -> tuple[str, ...]:
    """The pages of a take's score as SVG texts; none where nothing was heard.

    name: letters for the ids, another for each score on one page of HTML.
    """
    return engrave_score(lay_out(take), name=name)


def engrave_score(score: Score, *, name: str = "score") -> tuple[str, ...]:
    """The pages of a score, ready to stand in HTML; see the module's text."""
    pages = drawn(score, {"adjustPageHeight": True, "smuflTextFont": "none"})
    return tuple(
        _for_the_page(svg, f"{name}-{number}", f"Score, page {number} of {len(pages)}")
        for number, svg in enumerate(pages, 1)
    )


def drawn(score: Score, options: dict[str, Any]) -> tuple[str, ...]:
    """The pages as Verovio draws them, with some options of its own beside ours."""
    if not score.bars:
        return ()
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit(False)
    toolkit.setResourcePath(_resources())
    toolkit.setOptions(
        {
            "pageWidth": WIDTH,
            "pageHeight": HEIGHT,
            "scale": STAFF_SCALE,
            "header": "none",
            "footer": "none",
            "xmlIdSeed": 1,
            "removeIds": True,
            "svgViewBox": True,
            "svgFormatRaw": True,
            "svgRemoveXlink": True,
        }
        | TIES
        | options
    )
    if not toolkit.loadData(mei_file.render(score)) or not toolkit.getPageCount():
        raise RuntimeError("the engraver refused its own project's MEI")
    return tuple(toolkit.renderToSVG(number) for number in range(1, toolkit.getPageCount() + 1))


@lru_cache(maxsize=1)
def _resources() -> str:
    """Verovio's own data; it must be named in every thread but the first."""
    return str(Path(verovio.__file__).parent / "data")


def _for_the_page(svg: str, name: str, spoken: str) -> str:
    """A drawing without needless ids, in the page's colours, that says what it is."""
    found = re.match(r'<svg [^>]*id="([^"]+)"', svg)
    own = found[1] if found else ""
    svg = svg.replace(f'id="{own}"', f'id="SCORE" role="img" aria-label="{spoken}"', 1)
    svg = re.sub(rf'id="(\w+)-{own}"', r'id="SCORE-\1"', svg)
    svg = re.sub(rf'href="#(\w+)-{own}"', r'href="#SCORE-\1"', svg)
    svg = _ID.sub("", svg.replace(f"#{own} ", "#SCORE "))
    svg = svg.replace('font-family="Times, serif"', f'font-family="{FACES}"', 1)
    svg = re.sub(r"<desc>[^<]*</desc>", "", svg, count=1)
    svg = _EMPTY.sub("", _EMPTY.sub("", svg)).replace(' color="black"', "", 1)
    svg = _one_scale(GLYPH_TEXT.sub(plain_text, svg))
    style = (
        "#SCORE {fill:currentColor}"
        "#SCORE g.top,#SCORE g.missed "
        f"{{fill:var(--score-top, {TOP_COLOUR});color:var(--score-top, {TOP_COLOUR})}}"
    )
    return svg.replace("</style>", f"{style}</style>", 1).replace("SCORE", name)


def plain_text(found: re.Match[str]) -> str:
    """A glyph of the music font in text as a character that any font has."""
    shown = "".join(TEXT_GLYPHS.get(char, char) for char in found[3])
    look = _SIZE.sub(lambda size: f'font-size="{round(int(size[1]) * TEXT_SCALE)}px"', found[2])
    return f"<tspan{found[1]}{look}>{shown}<"


def _one_scale(svg: str) -> str:
    """Glyphs placed by x and y alone, where all are of one size: a third less to carry."""
    scales = {found[3] for found in _USE.finditer(svg)}
    if len(scales) != 1:
        return svg
    scale = scales.pop()
    svg = _USE.sub(r' x="\1" y="\2"', svg)
    return svg.replace('transform="scale(1,-1)"', f'transform="scale({scale},-{scale})"')
