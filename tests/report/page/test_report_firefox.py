"""The page in Firefox: the same structure as in Chromium, its keys, and what it prints."""

import io
from pathlib import Path

import pytest
from pypdf import PdfReader

from stackline.report.page import page
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from tests.support.readers.browser_pages import CHROMIUM, NEEDS_CHROMIUM, bare, launched, tones_of
from tests.support.readers.firefox import NEEDS_FIREFOX, Firefox, firefox
from tests.support.takes.sample_take import long_take, sample_take

pytestmark = NEEDS_FIREFOX

STRUCTURE = """
const shown = (one) => one.getClientRects().length > 0;
return [...document.querySelectorAll("h1, h2, h3, section, button, table, svg[role=img], a[href]")]
  .filter(shown).map((one) => `${one.tagName} ${one.className.baseVal ?? one.className}`);
"""


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample with its sound inside."""
    folder = tmp_path_factory.mktemp("firefox-page")
    take: Take = sample_take()
    path = folder / "sample.html"
    path.write_text(page.render(TakeView(take), tones_of(take, folder).audio), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def fox(tmp_path_factory: pytest.TempPathFactory, sheet: Path):  # type: ignore[no-untyped-def]
    """A Firefox with the sheet open."""
    with firefox(tmp_path_factory.mktemp("firefox")) as window:
        window.open(sheet)
        yield window


def test_both_browsers_show_the_same(fox: Firefox, sheet: Path) -> None:
    """Headings, sections, buttons, tables, drawings and links that are to be seen, in order."""
    if CHROMIUM is None:
        pytest.skip(NEEDS_CHROMIUM[1].kwargs["reason"])
    found = fox.run(STRUCTURE)
    assert len(found) > 50
    with launched() as browser:
        there = bare(browser, sheet)
        assert there.evaluate(f"() => {{ {STRUCTURE} }}") == found


def test_arrows_reach_every_voicing(fox: Firefox) -> None:
    """The right arrow, again and again, lights one after the other."""
    lit = fox.run("""
      const lit = [];
      const arrow = {key: "ArrowRight", bubbles: true};
      for (let i = 0; i < document.querySelectorAll(".rung").length; i += 1) {
        document.body.dispatchEvent(new KeyboardEvent("keydown", arrow));
        lit.push(document.querySelector(".rung.at")?.id);
      }
      return lit;
    """)
    assert len(set(lit)) == len(sample_take().voicings)
    fox.run('document.getElementById("sound").pause()')


@pytest.mark.parametrize("voicings", [6, 30, 42])
def test_no_heading_is_left_at_the_foot_of_a_page(
    fox: Firefox, tmp_path: Path, voicings: int
) -> None:
    """Printed on A4: what stands last on a page is no heading. Of 30 and 42 voicings one was."""
    path = tmp_path / "long.html"
    path.write_text(page.render(TakeView(long_take(voicings))), encoding="utf-8")
    fox.open(path)
    headings = set(fox.run('return [...document.querySelectorAll("h2")].map((h) => h.textContent)'))
    pages = PdfReader(io.BytesIO(fox.printed())).pages
    assert len(pages) >= 3
    for one in pages:
        lines = [line.strip() for line in one.extract_text().splitlines() if line.strip()]
        assert not lines or lines[-1] not in headings
