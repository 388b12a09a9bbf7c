"""The study sheet as a PDF."""

import io
import re
import sys
from dataclasses import replace

import pytest

from stackline.report.contents.keyboard_picture import Stretch
from stackline.report.contents.page_tables import rate_rows
from stackline.report.printed import sheet_file
from stackline.report.printed.sheet_blocks import WIDTH, Block, voicing_blocks
from stackline.report.printed.sheet_drawings import keyboard
from stackline.report.printed.sheet_type import BOX, Type, fitted, put, width, wrapped
from stackline.report.words.places import Places
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from tests.support.sample_take import empty_take, gridless_take, long_take, sample_take

pypdf = pytest.importorskip("pypdf")
pytest.importorskip("svg2pdf_py")
pytest.importorskip("fontTools")

BODY = Type(size=10)


def pages(take: Take) -> list[str]:
    """The text of each page, spaces and line breaks as one space."""
    document = pypdf.PdfReader(io.BytesIO(sheet_file.render(take)))
    return [re.sub(r"\s+", " ", page.extract_text()) for page in document.pages]


def test_the_sheet_is_a4_and_carries_its_fonts() -> None:
    """ISO 216: A4 is 210 x 297 mm; every font program is inside (a PDF viewer needs no other)."""
    document = pypdf.PdfReader(io.BytesIO(sheet_file.render(sample_take())))
    for page in document.pages:
        assert float(page.mediabox.width) / 72 * 25.4 == pytest.approx(210, abs=0.1)
        assert float(page.mediabox.height) / 72 * 25.4 == pytest.approx(297, abs=0.1)
    assert document.metadata.title == "warm-up.wav"
    described = [
        one for number in range(1, document.trailer["/Size"])
        if hasattr(one := document.get_object(number), "get")
        and one.get("/Type") == "/FontDescriptor"
    ]  # fmt: skip
    names = {str(one["/FontName"]) for one in described}
    assert all("/FontFile2" in one or "/FontFile3" in one for one in described)
    assert any("LiberationSerif-Bold" in name for name in names)
    assert any("Leipzig" in name for name in names)


def test_the_sheet_tells_what_the_page_tells() -> None:
    """Counts with what they are counted of, every symbol, what did not land, the vocabulary."""
    take = sample_take()
    text = " ".join(pages(take))
    overall = rate_rows(take)[0]
    assert f"{overall.landed} of {overall.due} due resolutions landed" in text
    assert text.count("not landed:") == overall.missed
    bare = text.replace(" ", "")
    for voicing in take.voicings:
        symbol = voicing.chord.symbol.text.replace("b", "\u266d").replace("#", "\u266f")
        assert symbol.replace(" ", "") in bare
    assert "Vocabulary: each shape once" in text
    assert "unsure: notes" in text


def test_pages_are_numbered_and_named() -> None:
    """The foot says which page of how many, and of what."""
    found = pages(long_take(60))
    assert len(found) > 3
    for number, text in enumerate(found, 1):
        assert f"{number} of {len(found)}" in text
        assert "stackline" in text


@pytest.mark.parametrize("make", [empty_take, gridless_take])
def test_any_take_has_a_sheet(make) -> None:  # type: ignore[no-untyped-def]
    """Nothing heard is said on one page; without a beat grid places are times."""
    text = " ".join(pages(make()))
    assert ("No note was heard" in text) == (not make().voicings)
    assert bool(re.search(r"\d:\d\d\.\d", text))


def test_a_name_from_a_file_is_text() -> None:
    """Markup in a title is printed as it is; letters that no face has are boxes."""
    hostile = "<img src=x onerror=alert(1)> & \u97f3.wav"
    take = replace(sample_take(), source=replace(sample_take().source, name=hostile))
    assert "<img src=x onerror=alert(1)> & " + BOX in pages(take)[0]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("\u97f3\u697d \u266d.wav", True),
        ("\u042d\u0442\u044e\u0434, \u039d\u03bf 2 \u00e9.wav", False),
    ],
)
def test_boxes_are_explained(name: str, told: bool) -> None:
    """Japanese letters are boxes, and a sentence says so; Cyrillic, Greek and accents are there."""
    take = replace(sample_take(), source=replace(sample_take().source, name=name))
    text = pages(take)[0]
    assert (BOX in text) is told
    assert ("stands for a letter" in text) is told


def test_a_voicing_struck_again_shares_the_row() -> None:
    """As many rows as there are changes of voicing; each row names all its places."""
    take = sample_take()
    changes = sum(
        one.pitches != other.pitches or one.chord.symbol != other.chord.symbol
        for one, other in zip(take.voicings, take.voicings[1:], strict=False)
    )
    assert len(list(voicing_blocks(take))) == changes + 1
    first = take.voicings[0]
    later = replace(first, attack=replace(first.attack, onset_s=first.attack.onset_s + 0.5))
    again = replace(take, voicings=(first, later), motions=())
    (only,) = voicing_blocks(again)
    place = Places(again).short(first.attack)
    assert f">{place}, {place}<" in only.svg


def test_nothing_is_cut_and_no_heading_stands_alone() -> None:
    """Pages hold whole blocks, in order, within their height; what is kept has its next below."""
    blocks = [
        Block(height=30 if i % 7 == 3 else 90.0 + i, svg=str(i), keep=i % 7 == 3) for i in range(40)
    ]
    paged = sheet_file.paged(blocks)
    assert [one for page in paged for one in page] == blocks
    assert all(sum(one.height for one in page) <= sheet_file.ROOM for page in paged)
    assert not any(page[-1].keep for page in paged)
    assert len(paged) > 3


def test_a_block_higher_than_a_page_has_its_own() -> None:
    """It is printed rather than lost, and the pages go on."""
    tall = Block(height=2 * sheet_file.ROOM, svg="tall")
    low = Block(height=20, svg="low")
    assert sheet_file.paged([low, tall, low]) == [[low], [tall], [low]]


# Liberation Serif is metric-compatible with Times New Roman, whose digits are half an em wide
# and whose H is 0.722 em (Adobe's AFM file of Times-Roman: zero 500, H 722, space 250).
@pytest.mark.parametrize(("text", "ems"), [("0", 0.5), ("H", 0.722), ("0 0", 1.25), ("", 0.0)])
def test_widths_are_those_of_the_face(text: str, ems: float) -> None:
    """Advance widths of a general table."""
    assert width(text, BODY) == pytest.approx(10 * ems, abs=0.02)


def test_lines_fit_and_lose_no_word() -> None:
    """Wrapped lines are within the limit and join up to the text; a long word is cut."""
    text = "the \u266d9 of G13(\u266d9) landed on the 5 of Cmaj9, " * 4 + "x" * 80
    lines = wrapped(text, BODY, 120)
    assert all(width(line, BODY) <= 120 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert len(lines) > 5


def test_a_text_too_long_for_its_line_ends_in_an_ellipsis() -> None:
    """What fits stays as it is."""
    assert fitted("short", BODY, WIDTH) == "short"
    cut = fitted("a name that goes on and on", BODY, 60)
    assert cut.endswith("\u2026")
    assert width(cut, BODY) <= 60


def test_accidentals_are_set_in_the_music_face() -> None:
    """The text face has no flat (its own table says so), so the run is of the other."""
    drawn = put("B\u266d7", 10, 20, BODY)
    assert re.findall(r'font-family="(.*?)"', drawn) == [
        "Liberation Serif", "Leipzig", "Liberation Serif"
    ]  # fmt: skip
    places = [float(x) for x in re.findall(r'x="(.*?)"', drawn)]
    assert places == sorted(places)
    assert places[1] - 10 == pytest.approx(10 * 0.667, abs=0.02)  # B in the same table


def test_a_keyboard_has_the_keys_of_its_stretch() -> None:
    """Two octaves from C: ten black keys, thirteen lines between fourteen white ones."""
    drawn = keyboard((), (), Stretch(low=48, high=71), 0.5)
    assert drawn.count("<rect") == 10 + 1
    assert len(re.findall(r"M\d+ [\d.]+v", drawn)) == 13


@pytest.mark.parametrize("module", ["pypdf", "svg2pdf_py", "fontTools"])
def test_a_missing_extra_says_what_to_type(module: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without one of its libraries the complaint names the command and another way."""
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(
        Complaint, match=r"pip install 'stackline\[pdf\]', or choose the format page"
    ):
        sheet_file.render(sample_take())
