"""Engraved pages: what stands on them, and that they can stand in any page of HTML."""

import re
import threading
from collections.abc import Callable
from fractions import Fraction
from xml.etree import ElementTree as Et

import pytest

from stackline.report.notation import mei_file, score_document
from stackline.report.notation.engraving import engrave
from stackline.report.score.score_layout import lay_out
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from tests.support.readers.drawn_score import SVG, classes, text_of
from tests.support.takes.played_takes import grid_of, struck, take_of
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take


def test_every_head_is_drawn() -> None:
    """As many noteheads as the score has heads, and as many voicings."""
    (page,) = engrave(sample_take())
    found = classes(page)
    heads = [
        head for bar in lay_out(sample_take()).bars for line in bar.lines
        for item in line.items for head in item.heads
    ]  # fmt: skip
    assert found["notehead"] == len(heads)
    assert found["top"] == sum(head.top for head in heads)
    assert all(found[f"voicing-{i}"] for i in range(len(sample_take().voicings)))


def test_signs_are_drawn_where_the_score_has_them() -> None:
    """No accidental is left out, and none is drawn that is not asked for."""
    (page,) = engrave(sample_take())
    drawn = [one for one in Et.fromstring(page).iter(f"{SVG}g")
             if one.get("class") == "accid" and len(one)]  # fmt: skip
    asked = sum(
        head.accidental for bar in lay_out(sample_take()).bars for line in bar.lines
        for item in line.items for head in item.heads
    )  # fmt: skip
    assert len(drawn) == asked


def test_symbols_and_stacks_are_printed() -> None:
    """Chord symbols with real signs above, degree stacks beneath, doubts marked."""
    texts = text_of(engrave(sample_take())[0], "harm")
    assert "A\u266d13(\u266d9)" in texts
    assert "\u266d7 3 | 13 \u266d9" in texts
    assert "G7(\u266d9,\u266d13)? or D\u266d9" in texts
    assert "\u266d7 3 | \u266d13 \u266d9 ?" in texts


@pytest.mark.parametrize("make", [sample_take, gridless_take, lambda: long_take(80)])
def test_pages_can_stand_in_one_document(make: Callable[[], Take]) -> None:
    """Ids are unique over all pages and both names; every glyph that is used is there."""
    pages = [*engrave(make()), *engrave(make(), name="other")]
    ids = [one.get("id") for page in pages for one in Et.fromstring(page).iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    used = {found for page in pages for found in re.findall(r'href="#([^"]+)"', page)}
    assert used <= set(ids)


def test_pages_fetch_and_run_nothing() -> None:
    """No script, no font, no link; no colour that a dark page would hide."""
    pages = engrave(long_take(80))
    assert len(pages) > 1
    for page in pages:
        outside = re.sub(r'xmlns(:xlink)?="[^"]+"', "", page)
        assert not re.search(r"https?:|url\(|<script|@font-face|onload", outside)
        assert 'color="black"' not in page
        assert all(ord(char) < 0xE000 for char in page)  # no glyph that only a music font has


def test_the_same_take_gives_the_same_pages() -> None:
    """Nothing random, and nothing left over from the drawing before."""
    first = engrave(sample_take())
    engrave(gridless_take())
    assert engrave(sample_take()) == first


def test_pages_are_drawn_in_any_thread() -> None:
    """A thread that is not the first gets the same pages."""
    found: list[tuple[str, ...]] = []
    thread = threading.Thread(target=lambda: found.append(engrave(sample_take())))
    thread.start()
    thread.join()
    assert found == [engrave(sample_take())]


def test_a_long_pause_is_one_rest() -> None:
    """Twelve silent bars between two chords are one measure with their number."""
    chord = (53, 57, 60, 64)
    notes = struck(chord, Fraction(0), 2) + struck(chord, Fraction(52), 2)
    take = take_of(notes, grid_of(60))
    assert len(lay_out(take).bars) == 14
    (page,) = engrave(take)
    assert classes(page)["measure"] == 3
    assert 'num="12"' in mei_file.render(lay_out(take))


def test_nothing_heard_gives_no_page() -> None:
    """A silent take has no page, and its file says so."""
    assert engrave(empty_take()) == ()
    assert "No notes were heard" in score_document.render(TakeView(empty_take()))


def test_the_score_file_holds_every_page() -> None:
    """All pages in one file, with the title as text."""
    hostile = "<img src=x onerror=alert(1)>.wav"
    text = score_document.render(TakeView(sample_take(hostile)))
    assert text.count("<svg ") == 2 * len(engrave(sample_take()))  # Verovio nests one in each
    assert "<img" not in text
    assert "&lt;img src=x onerror=alert(1)&gt;" in text


def test_the_mei_is_its_golden_file(golden: Callable[[str, str], None]) -> None:
    """The whole text that the engraver gets for the sample."""
    golden("sample.mei", mei_file.render(lay_out(sample_take())).replace("><", ">\n<") + "\n")
