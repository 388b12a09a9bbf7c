"""The extras: PDF and JAMS, and what is said where they are not installed."""

import io
import json
import sys
from collections.abc import Callable

import pytest

from stackline.report.files import jams_file
from stackline.report.printed import pdf_file
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from tests.support.sample_take import empty_take, gridless_take, long_take, sample_take


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


def test_a_missing_jams_extra_says_what_to_type(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without its library the complaint names the command."""
    monkeypatch.setitem(sys.modules, "jams", None)
    with pytest.raises(Complaint, match=r"pip install 'stackline\[jams\]'"):
        jams_file.render(sample_take())


@pytest.mark.filterwarnings("ignore::DeprecationWarning:jsonschema")
@pytest.mark.parametrize("make", [sample_take, gridless_take, empty_take, lambda: long_take(40)])
def test_jams_validates(make: Callable[[], Take]) -> None:
    """The jams package reads it back and finds every annotation true to its schema."""
    jams = pytest.importorskip("jams")
    take = make()
    document = jams.load(io.StringIO(jams_file.render(take)), validate=True, strict=True)
    notes = document.search(namespace="note_midi")
    found = [(row.time, row.value) for row in notes[0].data] if notes else []
    assert sorted(found) == sorted((note.onset_s, note.midi) for note in take.notes)


def test_jams_says_what_was_heard() -> None:
    """Chords in Harte syntax with their confidence, beats by number, keys."""
    pytest.importorskip("jams")
    rows = {
        one["namespace"]: one["data"]
        for one in json.loads(jams_file.render(sample_take()))["annotations"]
    }
    assert [row["value"] for row in rows["chord"]][:2] == ["Eb:min9", "Ab:7(b9,13)"]
    assert rows["chord"][4]["confidence"] == 0.58
    assert [row["value"]["position"] for row in rows["beat_position"]][:5] == [1, 2, 3, 4, 1]
    assert [row["value"] for row in rows["key_mode"]] == ["Db:major", "C:major"]
