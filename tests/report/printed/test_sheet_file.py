"""The study sheet as a PDF, read back by pypdf."""

import json
import re
import sys
from collections.abc import Callable
from dataclasses import replace
from typing import get_args

import pytest
import typst

from stackline.report.contents.keyboard_picture import LineKind
from stackline.report.contents.page_tables import rate_rows
from stackline.report.html import asset
from stackline.report.printed import sheet_file, typesetting
from stackline.report.words.places import Places
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from tests.support.readers.printed import (
    alternatives,
    check_paper,
    printed_text,
    read,
    structure,
    title,
)
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take

NOTE = "A box stands for a letter"


def named(name: str) -> Take:
    """The sample under another name."""
    return replace(sample_take(), source=replace(sample_take().source, name=name))


def test_the_sheet_is_a4_tagged_and_carries_its_fonts() -> None:
    """What a printer and a screen reader need."""
    document = read(sheet_file.render(TakeView(sample_take())))
    check_paper(document)
    assert title(document) == "warm-up.wav"
    kinds = structure(document)
    assert kinds.count("/Title") == 1
    assert kinds.count("/H1") == 3
    assert kinds.count("/Table") == 2


def test_every_keyboard_says_what_is_played_on_it() -> None:
    """A picture a row and one a shape of the vocabulary, each in words."""
    take = sample_take()
    told = alternatives(read(sheet_file.render(TakeView(take))))
    for voicing in take.voicings:
        names = [one.name.replace("b", "\u266d") for one in voicing.tones]
        assert any(all(name in words for name in names) for words in told)


def test_the_sheet_tells_what_the_page_tells() -> None:
    """Counts with what they are counted of, every symbol, what did not land, the vocabulary."""
    take = sample_take()
    text = printed_text(read(sheet_file.render(TakeView(take))))
    overall = rate_rows(TakeView(take))[0]
    assert f"{overall.landed} of {overall.due} due resolutions landed" in text
    assert text.count("not landed:") == overall.missed
    bare = text.replace(" ", "")
    for voicing in take.voicings:
        symbol = voicing.chord.symbol.text.replace("b", "\u266d").replace("#", "\u266f")
        assert symbol.replace(" ", "") in bare
    assert "Vocabulary: each shape once" in text
    assert "unsure: notes" in text


def test_pages_are_numbered_and_named_and_none_begins_with_a_lone_heading() -> None:
    """The foot says which page of how many, and of what; a heading has its rows below it."""
    found = read(sheet_file.render(TakeView(long_take(60)))).pages
    assert len(found) > 3
    for number, page in enumerate(found, 1):
        text = re.sub(r"\s+", " ", page.extract_text())
        assert f"{number} of {len(found)}" in text
        assert "stackline" in text
        assert not re.search(r"whatever its key \S+ stackline", text)


@pytest.mark.parametrize("make", [empty_take, gridless_take])
def test_any_take_has_a_sheet(make: Callable[[], Take]) -> None:
    """Nothing heard is said on one page; without a beat grid places are times."""
    text = printed_text(read(sheet_file.render(TakeView(make()))))
    assert ("No note was heard" in text) == (not make().voicings)
    assert bool(re.search(r"\d:\d\d\.\d", text))


@pytest.mark.parametrize(
    "name",
    [
        "<img src=x onerror=alert(1)> &.wav",
        '#import "@preview/x:1.0.0": *; #read("/etc/passwd")',
        "$a^2$ *bold* _under_ `raw` @ref <label> ~ // no /* no",
        "\\u{41} #(1+1) [ ] ] #{",
        '"},{"boxes": true, "title": "',
        "-- --- ... 'a' \"b\" = head + item",
    ],
)
def test_a_name_from_a_file_is_text(name: str) -> None:
    """Markup of the page, of the sheet and of the data is printed as it stands."""
    assert name in printed_text(read(sheet_file.render(TakeView(named(name)))))


@pytest.mark.parametrize(
    "name", ["\u042d\u0442\u044e\u0434, \u039d\u03bf 2 \u00e9.wav", "\u05e9\u05dc\u05d5\u05dd.wav"]
)
def test_scripts_that_the_faces_have_are_printed(name: str) -> None:
    """Cyrillic, Greek, accents; Hebrew."""
    document = read(sheet_file.render(TakeView(named(name))))
    check_paper(document)
    assert NOTE not in printed_text(document)
    assert title(document) == name


def test_letters_that_no_font_has_are_boxes_and_explained() -> None:
    """A character that Unicode has left without a letter, in plane 13, is in no font."""
    document = read(sheet_file.render(TakeView(named("a\U000d0000b.wav"))))
    assert NOTE not in printed_text(document)  # it is not printable, so it became a question mark
    hieroglyph = "\U00014400.wav"  # Anatolian, which hardly a machine has
    text = printed_text(read(sheet_file.render(TakeView(named(hieroglyph)))))
    assert NOTE in text or "\U00014400" in text


def test_a_long_name_without_blanks_stays_on_the_page() -> None:
    """It is cut, not lost."""
    text = printed_text(read(sheet_file.render(TakeView(named("x" * 300 + ".wav")))))
    assert text.replace("\u200b", "").replace(" ", "").count("x" * 300) >= 1


def test_a_voicing_struck_again_shares_the_row() -> None:
    """As many rows as there are changes of voicing; each row names its places, and how many."""
    take = sample_take()
    first = take.voicings[0]
    times = 40
    again = [
        replace(first, attack=replace(first.attack, onset_s=first.attack.onset_s + i / 8))
        for i in range(times)
    ]
    row = sheet_file.sheet_data(TakeView(replace(take, voicings=tuple(again), motions=())))[
        "voicings"
    ]
    place = Places(take).short(first.attack)
    assert [one["symbol"] for one in row] == ["E\u266dm9"]
    most = sheet_file.MOST_PLACES
    assert row[0]["places"] == ", ".join([place] * most) + f" and {times - most} more"
    changes = sum(
        one.pitches != other.pitches or one.chord.symbol != other.chord.symbol
        for one, other in zip(take.voicings, take.voicings[1:], strict=False)
    )
    assert len(sheet_file.sheet_data(TakeView(take))["voicings"]) == changes + 1


def test_a_missing_extra_says_what_to_type(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without its library the complaint names the command and another way."""
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(Complaint, match=r"pip install \"\.\[pdf\]\".*choose the format page"):
        sheet_file.render(TakeView(sample_take()))


def test_what_typst_refuses_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its message and what else to do, on one line."""
    monkeypatch.setattr(typesetting, "asset", lambda name: "#panic()")
    with pytest.raises(Complaint, match=r"could not be typeset \(typst: .*\); choose") as caught:
        sheet_file.render(TakeView(sample_take()))
    assert "\n" not in str(caught.value)


def test_templates_take_words_from_data_alone() -> None:
    """The template compiles without any take in it: all that varies comes in as data."""
    source = asset("printed.typ") + asset("sheet.typ")
    data = sheet_file.sheet_data(TakeView(empty_take())) | {"boxes": False, "title": "other"}
    made = typst.compile(source.encode(), sys_inputs={"data": json.dumps(data)})
    assert "other" in printed_text(read(made))


def test_every_kind_of_line_has_a_look_on_paper() -> None:
    """A voice of a kind that the template does not know would stop the whole sheet."""
    looks = asset("sheet.typ").partition("#let looks = (")[2].partition("\n)\n")[0]
    assert set(re.findall(r"^  (\w+):", looks, re.MULTILINE)) == set(get_args(LineKind))
