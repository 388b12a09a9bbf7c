"""The study sheet in Chromium: what is seen, on screens and on paper."""

import time
from pathlib import Path
from typing import Any

import pytest

from stackline.report.contents.chart_labels import pitch_rows
from stackline.report.page.page import render
from stackline.report.sound.spectrogram import picture
from stackline.report.words.take_view import TakeView
from tests.support.readers.browser_pages import NEEDS_CHROMIUM, SIZES, opened, tones_of, until
from tests.support.takes.sample_take import empty_take, long_take, sample_take

pytestmark = NEEDS_CHROMIUM


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_opens_and_fits(browser: Any, sheet: Path, size: str, scheme: str) -> None:
    """No script error, nothing wider than the screen, ink and paper far apart."""
    page = opened(browser, sheet, size, scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
    contrast = page.evaluate(CONTRAST)
    assert min(contrast.values()) >= 4.5, contrast
    assert page.faults == []
    page.close()


# WCAG 2.2, success criterion 1.4.3: relative luminance and contrast of text and its ground.
CONTRAST = """() => {
  const light = (css) => {
    const [r, g, b] = css.match(/[\\d.]+/g).slice(0, 3).map((v) => {
      const c = v / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (a, b) => (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  const style = (q) => getComputedStyle(document.querySelector(q));
  const paper = light(style("body").backgroundColor);
  const found = {};
  for (const q of [".summary", ".facts", ".motion", ".doubt", ".other", ".miss", ".foot"])
    found[q] = ratio(light(style(q).color), paper);
  for (const role of ["guide", "tension", "plain"])
    found[role] = ratio(light(style(`.keyboard .m.${role} text`).fill),
                        light(style(`.keyboard .m.${role} rect`).fill));
  return found;
}"""


@pytest.mark.parametrize("size", SIZES)
def test_a_link_leads_to_its_voicing(browser: Any, tmp_path: Path, size: str) -> None:
    """From the top of a long page to voicing 300 it is on the screen, whatever was drawn before."""
    path = tmp_path / "long.html"
    path.write_text(render(TakeView(long_take(400))), encoding="utf-8")
    width, height = SIZES[size]
    page = browser.new_page(viewport={"width": width, "height": height})
    page.goto(f"{path.as_uri()}#v300")
    page.wait_for_timeout(300)
    box = page.locator("#v300 h3").bounding_box()
    assert box is not None
    assert 0 <= box["y"] < height - 100
    page.evaluate("location.hash = '#v12'")
    page.evaluate("location.hash = '#v200'")
    page.wait_for_timeout(300)
    box = page.locator("#v200 h3").bounding_box()
    assert box is not None
    assert 0 <= box["y"] < height - 100
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_score_takes_the_colours_of_the_page(browser: Any, sheet: Path, scheme: str) -> None:
    """Notes are ink, those of the top line have the colour that the top line has elsewhere."""
    page = opened(browser, sheet, scheme=scheme)
    fill = "getComputedStyle(document.querySelector({!r})).fill"
    assert page.evaluate(fill.format(".sheet .note.top use")) == page.evaluate(
        fill.format(".bar .degree")
    )
    assert page.evaluate(fill.format(".sheet .note:not(.top) use")) == page.evaluate(
        "getComputedStyle(document.body).color"
    )
    page.close()


def test_a_long_score_is_folded(browser: Any, tmp_path: Path) -> None:
    """The first page shows; the band is drawn on a folded page once it is opened."""
    path = tmp_path / "long.html"
    audio = tones_of(long_take(100), tmp_path).audio
    path.write_text(render(TakeView(long_take(100)), audio), encoding="utf-8")
    page = opened(browser, path)
    assert page.locator(".sheet > svg:visible").count() == 1
    assert not page.locator("#v100").is_visible()
    page.evaluate("location.hash = '#v100'")
    page.click("#v100 .play")
    until(page, "document.querySelector('#v100').classList.contains('at')")
    page.keyboard.press("Space")
    page.click(".score summary")
    assert page.locator(".sheet > svg:visible").count() == page.locator(".sheet > svg").count() > 2
    until(page, "document.querySelectorAll('.sheet .band').length === 1")
    assert page.faults == []
    page.close()


def test_a_hostile_title_stays_text(browser: Any, tmp_path: Path) -> None:
    """Nothing runs, and the heading shows what the file was called."""
    name = '<img src=x onerror="document.title=1"><script>document.title=1</script>'
    path = tmp_path / "hostile.html"
    path.write_text(render(TakeView(sample_take(name))), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())
    assert page.inner_text("h1") == name
    assert page.title().startswith("<img")
    assert page.locator("img").count() == 0
    page.close()


def test_an_empty_page_works(browser: Any, tmp_path: Path) -> None:
    """Nothing to light, nothing to break."""
    path = tmp_path / "empty.html"
    path.write_text(
        render(TakeView(empty_take()), tones_of(empty_take(), tmp_path).audio), encoding="utf-8"
    )
    page = opened(browser, path)
    for key in ("ArrowRight", "ArrowLeft", "l", "h", "f", "Escape", "Space"):
        page.keyboard.press(key)
    page.click("#loop")
    assert page.faults == []
    page.close()


def test_the_sheet_prints(browser: Any, sheet: Path, tmp_path: Path) -> None:
    """A PDF of a few pages without the player, every voicing on it."""
    page = opened(browser, sheet, scheme="dark")
    page.emulate_media(media="print")
    assert page.is_visible("#v6 .keyboard")
    assert not page.is_visible(".player")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    page.pdf(path=tmp_path / "sheet.pdf", format="A4")
    pdf = (tmp_path / "sheet.pdf").read_bytes()
    assert 1 <= pdf.count(b"/Type /Page\n") <= 4
    page.close()


@pytest.mark.parametrize("size", SIZES)
def test_the_vocabulary_fits_the_screen(browser: Any, sheet: Path, size: str) -> None:
    """Nothing of the table needs scrolling sideways, and on a phone each figure has its name."""
    page = opened(browser, sheet, size)
    wide = page.evaluate(
        "(() => { const box = document.querySelector('.shapes').parentElement;"
        " return [box.scrollWidth, box.clientWidth]; })()"
    )
    assert wide[0] <= wide[1]
    shown = page.evaluate(
        "getComputedStyle(document.querySelector('.shapes td'), '::before').content"
    )
    assert shown == ('"On"' if size == "phone" else "none")
    page.close()


@pytest.mark.parametrize("size", SIZES)
def test_voices_lead_to_the_next_keyboard(browser: Any, sheet: Path, size: str) -> None:
    """On a desk the lines end at the next keyboard; on a phone, where text lies between, they stand
    right below their own keyboard and end at the degrees of the next voicing, in its order.
    """
    page = opened(browser, sheet, size)
    # What is not on screen is laid out late, and would move between two measurements.
    page.add_style_tag(content="* { content-visibility: visible !important }")
    page.locator("#v2").scroll_into_view_if_needed()
    boxes = {
        name: page.locator(query).bounding_box()
        for name, query in {
            "keys": "#v2 .keyboard", "lines": "#v2 .lines", "told": "#v2 .told",
            "next": "#v3 .keyboard",
        }.items()
    }  # fmt: skip
    top = {name: box["y"] for name, box in boxes.items()}
    end = {name: box["y"] + box["height"] for name, box in boxes.items()}
    assert top["lines"] == pytest.approx(end["keys"], abs=2)
    strip = page.locator("#v2 .onward")
    if size == "desktop":
        assert not strip.is_visible()
        assert top["next"] == pytest.approx(end["lines"], abs=2)
        return
    assert strip.bounding_box()["y"] == pytest.approx(end["lines"], abs=2)
    assert top["told"] >= end["lines"] + strip.bounding_box()["height"] - 2
    degrees = "(query) => [...document.querySelectorAll(query)].map((one) => one.textContent)"
    there = page.evaluate(degrees, "#v3 .keyboard .m text:not(.q)")
    assert page.evaluate(degrees, "#v2 .onward text") == there
    x = "(query) => [...document.querySelectorAll(query)].map((one) => +one.getAttribute('x'))"
    assert page.evaluate(x, "#v2 .onward text") == page.evaluate(x, "#v3 .keyboard .m text:not(.q)")
    assert page.locator("#v2 .onward p").inner_text().endswith(page.inner_text("#v3 h3"))
    page.emulate_media(media="print")
    assert not strip.is_visible()
    page.close()


def test_roles_can_be_told_without_colour(browser: Any, sheet: Path) -> None:
    """Guide tones are square, the others round; their lines are dashed, common tones thick."""
    page = opened(browser, sheet)
    corner = "(role) => getComputedStyle(document.querySelector(`.ladder .m.${role} rect`)).rx"
    rounds = {role: page.evaluate(corner, role) for role in ("guide", "tension", "plain")}
    assert rounds["guide"] == "2px"
    assert rounds["tension"] == rounds["plain"] == "9px"
    fills = "(role) => getComputedStyle(document.querySelector(`.ladder .m.${role} rect`)).fill"
    paper = page.evaluate("getComputedStyle(document.querySelector('.player')).backgroundColor")
    assert page.evaluate(fills, "plain") == paper  # an outline
    line = (
        "(kind) => {"
        " const style = getComputedStyle(document.querySelector(`.sample path.${kind}`));"
        " return [style.strokeDasharray, parseFloat(style.strokeWidth)]; }"
    )
    guide, stay = page.evaluate(line, "guide"), page.evaluate(line, "stay")
    assert guide[0] != "none"
    assert stay[0] == "none"
    assert stay[1] > 2
    page.close()


def test_folded_parts_are_not_printed(browser: Any, sheet: Path) -> None:
    """A closed table leaves no lone heading on paper; opened, it is printed."""
    page = opened(browser, sheet)
    page.emulate_media(media="print")
    assert not page.is_visible("#beats-title")
    page.emulate_media(media="screen")
    page.click(".struck summary")
    page.emulate_media(media="print")
    assert page.is_visible("#beats-title")
    assert page.is_visible(".beats")
    page.close()


def test_four_hundred_voicings_open_quickly(browser: Any, tmp_path: Path) -> None:
    """Five to six minutes with all there is: under 6 MB, open in under 2 s, and 30 frames a second
    or more while it plays at half speed, both sounds on, the page following.
    """
    take = long_take(400)
    tones = tones_of(take, tmp_path)
    path = tmp_path / "long.html"
    behind = picture(tones.strengths, *pitch_rows(take))
    path.write_text(render(TakeView(take), tones.audio, behind), encoding="utf-8")
    assert path.stat().st_size < 6_000_000
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    started = time.monotonic()
    page.goto(path.as_uri(), wait_until="load")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")
    assert time.monotonic() - started < 2.0
    page.click("[data-rate='0.5']")
    page.click("[data-hear='both']")
    page.click("#follow")
    page.click("#play")
    frames = page.evaluate(
        """new Promise((done) => {
          let frames = 0;
          const count = () => { frames += 1; requestAnimationFrame(count); };
          requestAnimationFrame(count);
          setTimeout(() => done(frames), 1000);
        })"""
    )
    assert frames >= 30
    page.close()


@pytest.mark.parametrize("size", SIZES)
def test_keyboards_show_their_keys(browser: Any, sheet: Path, size: str) -> None:
    """The keys are drawn at every width: their strip has a size and is not hidden."""
    page = opened(browser, sheet, size)
    page.locator("#v1").scroll_into_view_if_needed()
    box = page.locator("#v1 .keyboard .keys").bounding_box()
    assert box is not None
    assert box["width"] > 250
    assert box["height"] > 40
    page.close()
