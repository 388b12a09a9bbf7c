"""The score as a PDF, read back by pypdf, and what is said where its library is not installed."""

import re
import sys
from dataclasses import replace

import pytest

from stackline.report.printed import pdf_file
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint
from tests.support.readers.printed import alternatives, check_paper, printed_text, read, title
from tests.support.takes.sample_take import empty_take, long_take, sample_take


def test_the_pdf_is_a4_with_title_and_fonts() -> None:
    """One sheet whose text is text; the drawing says what it is to those who cannot see it."""
    document = read(pdf_file.render(TakeView(sample_take())))
    check_paper(document)
    assert title(document) == "warm-up.wav"
    assert "warm-up.wav" in printed_text(document)
    assert "maj13" in printed_text(document)
    assert alternatives(document) == ["Score, page 1 of 1"]


def test_long_scores_take_several_sheets() -> None:
    """Every page of the engraving is a page of the PDF."""
    document = read(pdf_file.render(TakeView(long_take(80))))
    pages = len(document.pages)
    assert pages > 1
    assert alternatives(document) == [f"Score, page {i} of {pages}" for i in range(1, pages + 1)]


def test_every_stack_has_its_top_degree_in_bold() -> None:
    """As many bold degrees as voicings, also beside accidentals, which the bold face lacks."""
    bold: list[str] = []

    def note(text: str, _a: object, _b: object, font: dict, _size: float) -> None:
        if font and "Bold" in str(font["/BaseFont"]) and text.strip():
            bold.append(text.strip())

    for page in read(pdf_file.render(TakeView(sample_take()))).pages:
        page.extract_text(visitor_text=note)
    tops = [str(voicing.top.degree) for voicing in sample_take().voicings]
    found = re.sub(r"[^\dR\u266d\u266f]", "", "".join(bold))
    assert all(top.replace("b", "\u266d") in found for top in tops)


@pytest.mark.parametrize("name", ["\u97f3\u697d \u266d.wav", '#import "x"; $a$ <b> & "', "\x00"])
def test_any_name_is_text(name: str) -> None:
    """Markup of any kind, and letters that no font here may have."""
    take = replace(sample_take(), source=replace(sample_take().source, name=name))
    text = printed_text(read(pdf_file.render(TakeView(take))))
    assert "maj13" in text
    assert name.isascii() is False or name == "\x00" or name in text


def test_an_empty_score_makes_no_pdf() -> None:
    """Nothing heard is told, not printed as an empty sheet."""
    with pytest.raises(Complaint, match="nothing was heard"):
        pdf_file.render(TakeView(empty_take()))


def test_a_missing_extra_says_what_to_type(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without its library the complaint names the command, and where it can be had."""
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(Complaint, match=r"pip install \"\.\[pdf\]\".*choose the format score"):
        pdf_file.render(TakeView(sample_take()))


def test_the_same_take_gives_the_same_bytes() -> None:
    """No date, no chance."""
    assert pdf_file.render(TakeView(sample_take())) == pdf_file.render(TakeView(sample_take()))
