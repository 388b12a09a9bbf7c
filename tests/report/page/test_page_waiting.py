"""The study sheet in Chromium while its sound or its piano is not there yet."""

import base64
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.support.readers.browser_pages import NEEDS_CHROMIUM, until

pytestmark = NEEDS_CHROMIUM

HELD = "https://held.invalid/sound.mp4"
INLINE = re.compile(r'(<audio id="sound" preload="auto" src=")data:audio/mp4;base64,([^"]+)"')
TONES = """
window.tones = [];
const Source = window.AudioBufferSourceNode;
window.AudioBufferSourceNode = class extends Source {
  start(when, offset, length) {
    window.firstToneAt ??= document.getElementById("sound").currentTime;
    tones.push(offset);
    super.start(when, offset, length);
  }
};
"""
HOLD_PIANO = """
const decode = AudioContext.prototype.decodeAudioData;
const asked = new Promise((done) => { window.giveThePiano = done; });
AudioContext.prototype.decodeAudioData = async function (bytes) {
  await asked;
  return decode.call(this, bytes);
};
"""
N_NOTES = 4  # in the sample take's second voicing, which sounds from 3.0 to 5.5 s


@pytest.fixture
def held(browser: Any, sheet: Path, tmp_path: Path) -> Iterator[tuple[Any, list[Any], bytes]]:
    """The page with its sound outside; the requests for it, unanswered; and its bytes."""
    text = sheet.read_text(encoding="utf-8")
    found = INLINE.search(text)
    assert found is not None
    path = tmp_path / "held.html"
    path.write_text(INLINE.sub(rf'\1{HELD}"', text), encoding="utf-8")
    context = browser.new_context(bypass_csp=True)  # the policy allows no sound from outside
    page = context.new_page()
    asked: list[Any] = []
    page.route(HELD, lambda route: asked.append(route))
    page.add_init_script(TONES)
    page.goto(path.as_uri(), wait_until="domcontentloaded")
    yield page, asked, base64.b64decode(found[2])
    context.close()


def answer(asked: list[Any], data: bytes) -> None:
    """Give the sound to whoever waits for it, as a server that can seek."""
    for route in asked:
        route.fulfill(
            status=206,
            body=data,
            headers={
                "Content-Type": "audio/mp4",
                "Accept-Ranges": "bytes",
                "Content-Range": f"bytes 0-{len(data) - 1}/{len(data)}",
            },
        )
    asked.clear()


def test_a_voicing_clicked_before_the_sound_is_there_plays_all_its_notes(
    held: tuple[Any, list[Any], bytes],
) -> None:
    """Once the sound has come, the voicing's own notes are struck, and it stops at its end."""
    page, asked, data = held
    page.click("[data-hear='notes']")
    until(page, "document.getElementById('piano').dataset.ready === 'true'")
    page.click("#v2 .play")
    page.wait_for_timeout(300)
    assert page.evaluate("document.getElementById('sound').readyState") == 0
    assert page.evaluate("tones.length") == 0
    answer(asked, data)
    until(page, "document.getElementById('sound').currentTime > 3.3")
    assert page.evaluate("tones.length") >= N_NOTES
    until(page, "document.getElementById('sound').paused")
    assert page.evaluate("document.getElementById('sound').currentTime") == pytest.approx(
        5.5, abs=0.15
    )


def clicked_before_the_piano(browser: Any, sheet: Path) -> Any:
    """The page with its piano held back, the notes chosen and a voicing clicked."""
    page = browser.new_page()
    page.add_init_script(TONES + HOLD_PIANO)
    page.goto(sheet.as_uri())
    until(page, "document.getElementById('sound').readyState >= 1")
    page.click("[data-hear='notes']")
    page.click("#v2 .play")
    return page


def test_a_voicing_clicked_before_the_piano_is_there_plays_all_its_notes(
    browser: Any, sheet: Path
) -> None:
    """However late the piano is decoded, the voicing then begins from its start."""
    page = clicked_before_the_piano(browser, sheet)
    until(page, "document.getElementById('sound').currentTime > 3.3")
    assert page.evaluate("tones.length") == 0
    page.evaluate("giveThePiano()")
    until(page, f"tones.length >= {N_NOTES}")
    assert page.evaluate("window.firstToneAt") < 3.5
    until(page, "document.getElementById('sound').paused")
    assert page.evaluate("document.getElementById('sound').currentTime") == pytest.approx(
        5.5, abs=0.15
    )
    page.close()


def test_who_pauses_meanwhile_is_not_overruled(browser: Any, sheet: Path) -> None:
    """Paused before the piano has come, nothing starts by itself when it comes."""
    page = clicked_before_the_piano(browser, sheet)
    until(page, "!document.getElementById('sound').paused")
    page.click("#play")
    page.evaluate("giveThePiano()")
    until(page, "document.getElementById('piano').dataset.ready === 'true'")
    page.wait_for_timeout(300)
    assert page.evaluate("document.getElementById('sound').paused") is True
    assert page.evaluate("tones.length") == 0
    page.close()
