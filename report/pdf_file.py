"""The score of a take as a PDF to print: A4, with its title, fonts inside.

Drawn by Verovio, turned into vectors by svg2pdf, bound by pypdf. Text is set in the fonts that
Verovio measured it with, taken from its own data, so nothing moves and no font of the
machine is needed. These libraries are an extra: ``pip install 'stackline[pdf]'``. The same take
gives the same score; only the PDF's own identifiers may differ.
"""

import base64
import contextlib
import io
import re
import tempfile
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import verovio

from report.engraving import TOP_COLOUR, drawn
from report.score_layout import lay_out
from shared.complaint import Complaint
from shared.take import Take

if TYPE_CHECKING:
    from svg2pdf_py import FontDatabase

A4_POINTS = (595.28, 841.89)  # 210 x 297 mm at 72 points an inch
TEXT_FONT, MUSIC_FONT = "Liberation", "Leipzig"
SHEET = {
    "header": "auto",
    "fontTextLiberation": True,
    "smuflTextFont": "none",
    "pageMarginTop": 120,
    "pageMarginBottom": 120,
    "pageMarginLeft": 140,
    "pageMarginRight": 120,
}  # tenths of a millimetre
MISSING = (
    "a PDF needs libraries that are not installed; type: pip install 'stackline[pdf]', "
    "or choose the format score and print it from the browser"
)
_FACE = re.compile(r"base64,([A-Za-z0-9+/=]+)")


def render(take: Take) -> bytes:
    """The bytes of the PDF.

    Raises Complaint where the extra is not installed, or where the take has nothing to write.
    """
    try:
        import pypdf
        import svg2pdf_py
        from fontTools import ttLib  # noqa: F401
    except ImportError:
        raise Complaint(MISSING) from None
    score = lay_out(take)
    if not score.bars:
        raise Complaint("nothing was heard in this take, so there is no score to put in a PDF")
    sheets = drawn(score, SHEET)
    with _fonts() as (fonts, family):
        pages = svg2pdf_py.svg_pages_to_pdfs([_printable(svg, family) for svg in sheets], fonts)
    return _bound(pypdf, pages, score.title)


def _printable(svg: str, family: str) -> str:
    """A drawing on A4, with the top line coloured and the text font called by its own name."""
    width, height = A4_POINTS
    svg = svg.replace("<svg ", f'<svg width="{width}" height="{height}" ', 1)
    style = f"g.top {{fill:{TOP_COLOUR};color:{TOP_COLOUR}}}</style>"
    svg = svg.replace("</style>", style, 1)
    return re.sub(rf'font-family="{TEXT_FONT}[^"]*"', f'font-family="{family}"', svg)


@contextlib.contextmanager
def _fonts() -> "Iterator[tuple[FontDatabase, str]]":
    """Verovio's text and music fonts, and what the text font calls itself.

    The fonts are files that are read when a page is drawn, so they live as long as this.
    """
    import svg2pdf_py

    fonts = svg2pdf_py.FontDatabase()
    with tempfile.TemporaryDirectory() as folder:
        for i, (_, font) in enumerate(_faces()):
            path = Path(folder) / f"{i}.ttf"
            path.write_bytes(font)
            fonts.load_font_file(str(path))
        yield fonts, _faces()[0][0]


@lru_cache(maxsize=1)
def _faces() -> tuple[tuple[str, bytes], ...]:
    """Family name and plain font file of each face, text faces first."""
    return tuple(_plain_faces())


def _plain_faces() -> Iterator[tuple[str, bytes]]:
    from fontTools import ttLib

    data = Path(verovio.__file__).parent / "data"
    for sheet in (TEXT_FONT, MUSIC_FONT):
        for found in _FACE.finditer((data / f"{sheet}.css").read_text(encoding="utf-8")):
            font = ttLib.TTFont(io.BytesIO(base64.b64decode(found[1])))
            font.flavor = None
            plain = io.BytesIO()
            font.save(plain)
            yield str(font["name"].getBestFamilyName()), plain.getvalue()


def _bound(pypdf: Any, pages: list[bytes], title: str) -> bytes:
    """Pages joined into one document."""
    writer = pypdf.PdfWriter()
    for page in pages:
        writer.add_page(pypdf.PdfReader(io.BytesIO(page)).pages[0])
    writer.add_metadata({"/Title": title, "/Producer": "stackline"})
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
