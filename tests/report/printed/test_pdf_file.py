"""The score as a PDF, and what is said where its library is not installed."""

import io
import sys

import pytest

from stackline.report.printed import pdf_file
from stackline.shared.complaint import Complaint
from tests.support.sample_take import empty_take, long_take, sample_take


def test_the_pdf_is_a4_with_title_and_fonts() -> None:
    """One sheet of A4 (ISO 216: 210 x 297 mm) whose text is text, in fonts that it carries."""
    pypdf = pytest.importorskip("pypdf")
    document = pypdf.PdfReader(io.BytesIO(pdf_file.render(sample_take())))
    (page,) = document.pages
    assert float(page.mediabox.width) / 72 * 25.4 == pytest.approx(210, abs=0.1)
    assert float(page.mediabox.height) / 72 * 25.4 == pytest.approx(297, abs=0.1)
    assert document.metadata.title == "warm-up.wav"
    text = page.extract_text()
    assert "warm-up.wav" in text
    assert "maj13" in text
    fonts = {str(font) for font in _font_names(document)}
    assert any("Liberation" in name for name in fonts)
    assert any("Leipzig" in name for name in fonts)


def _font_names(document: object) -> list[object]:
    """BaseFont of every embedded font of a document."""
    found = []
    for number in range(1, document.trailer["/Size"]):  # type: ignore[attr-defined]
        one = document.get_object(number)  # type: ignore[attr-defined]
        if hasattr(one, "get") and one.get("/Type") == "/FontDescriptor":
            assert "/FontFile2" in one or "/FontFile3" in one
            found.append(one["/FontName"])
    return found


def test_long_scores_take_several_sheets() -> None:
    """Every page of the engraving is a page of the PDF."""
    pypdf = pytest.importorskip("pypdf")
    assert len(pypdf.PdfReader(io.BytesIO(pdf_file.render(long_take(80)))).pages) > 1


def test_an_empty_score_makes_no_pdf() -> None:
    """Nothing heard is told, not printed as an empty sheet."""
    pytest.importorskip("pypdf")
    with pytest.raises(Complaint, match="nothing was heard"):
        pdf_file.render(empty_take())


@pytest.mark.parametrize("module", ["pypdf", "svg2pdf_py", "fontTools"])
def test_a_missing_pdf_extra_says_what_to_type(
    module: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without one of its libraries the complaint names the command."""
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(Complaint, match=r"pip install 'stackline\[pdf\]'"):
        pdf_file.render(sample_take())
