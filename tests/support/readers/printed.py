"""Reading printed sheets back with pypdf, which had no part in making them."""

import io
import re
from typing import Any

import pypdf
import pytest


def read(document: bytes) -> pypdf.PdfReader:
    """A PDF, opened."""
    return pypdf.PdfReader(io.BytesIO(document))


def printed_text(document: pypdf.PdfReader) -> str:
    """The text of all pages, any white space as one blank."""
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in document.pages))


def check_paper(document: pypdf.PdfReader) -> None:
    """A4 (ISO 216: 210 x 297 mm), every font program inside, tagged and in a language.

    ISO 32000-1: /MarkInfo /Marked (14.7.1), /StructTreeRoot (14.7.2), /Lang (14.9.2); PDF/UA
    says of itself what it is (ISO 14289-1, 5).
    """
    for page in document.pages:
        assert float(page.mediabox.width) / 72 * 25.4 == pytest.approx(210, abs=0.1)
        assert float(page.mediabox.height) / 72 * 25.4 == pytest.approx(297, abs=0.1)
    fonts = [one for one in _objects(document) if one.get("/Type") == "/FontDescriptor"]
    assert fonts
    assert all("/FontFile2" in one or "/FontFile3" in one for one in fonts)
    root: Any = document.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712 a PDF boolean, not Python's
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert b"pdfuaid" in root["/Metadata"].get_data()


def alternatives(document: pypdf.PdfReader) -> list[str]:
    """What pictures say to those who cannot see them, in order of the document."""
    return [str(one["/Alt"]) for one in _objects(document) if "/Alt" in one]


def structure(document: pypdf.PdfReader) -> list[str]:
    """The kinds of the tags."""
    return [str(one["/S"]) for one in _objects(document) if one.get("/Type") == "/StructElem"]


def title(document: pypdf.PdfReader) -> str | None:
    """What the document says it is called."""
    assert document.metadata is not None
    return document.metadata.title


def _objects(document: pypdf.PdfReader) -> list[Any]:
    found = []
    size: Any = document.trailer["/Size"]
    for number in range(1, size):
        one = document.get_object(number)
        if hasattr(one, "get"):
            found.append(one)
    return found
