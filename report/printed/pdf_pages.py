"""Drawn pages bound into a PDF: SVG of A4 in, one document out, with the fonts inside.

svg2pdf turns drawings into vectors, pypdf binds them. Text is set in the fonts that Verovio
carries in its own data, so that what was measured is what is printed and no font of the machine
is needed. These libraries are an extra: ``pip install 'stackline[pdf]'``. The same drawings give
the same document; only the PDF's own identifiers may differ.
"""

import base64
import contextlib
import io
import re
import tempfile
from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import verovio

from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from svg2pdf_py import FontDatabase

A4_POINTS = (595.28, 841.89)  # 210 x 297 mm at 72 points an inch
TEXT_FONT, MUSIC_FONT = "Liberation", "Leipzig"  # names of the files that hold them
_FACE = re.compile(r"base64,([A-Za-z0-9+/=]+)")


def check_libraries(instead: str) -> None:
    """Raise Complaint where the extra is not installed. instead: what else a player can do."""
    try:
        import pypdf  # noqa: F401
        import svg2pdf_py  # noqa: F401
        from fontTools import ttLib  # noqa: F401
    except ImportError:
        raise Complaint(
            "a PDF needs libraries that are not installed; type: pip install 'stackline[pdf]', "
            f"or {instead}"
        ) from None


def bound(pages: Sequence[str], title: str) -> bytes:
    """The PDF of some pages, each an SVG of `A4_POINTS`."""
    import pypdf
    import svg2pdf_py

    writer = pypdf.PdfWriter()
    with _loaded_fonts() as fonts:
        for page in svg2pdf_py.svg_pages_to_pdfs(list(pages), fonts):
            writer.add_page(pypdf.PdfReader(io.BytesIO(page)).pages[0])
    writer.add_metadata({"/Title": title, "/Producer": "stackline"})
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


@contextlib.contextmanager
def _loaded_fonts() -> "Iterator[FontDatabase]":
    """All faces; they are files that are read when a page is drawn, so they live as long."""
    import svg2pdf_py

    fonts = svg2pdf_py.FontDatabase()
    with tempfile.TemporaryDirectory() as folder:
        for i, (_, font) in enumerate(faces()):
            path = Path(folder) / f"{i}.ttf"
            path.write_bytes(font)
            fonts.load_font_file(str(path))
        yield fonts


@lru_cache(maxsize=1)
def faces() -> tuple[tuple[str, bytes], ...]:
    """Family name and plain font file of each face: text (regular, bold, italics), then music."""
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
