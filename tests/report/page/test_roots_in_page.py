"""Roots under the chords on the page: where they lie, and that Chromium sounds them."""

import json
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from stackline.report.sound.page_piano import PITCHES, SLOT_S
from stackline.report.sound.roots_under import roots_json
from tests.support.readers.browser_pages import NEEDS_CHROMIUM, until
from tests.support.takes.sample_take import sample_take

LISTEN = """
const made = window.made = { tones: [], gains: [] };
const Gain = window.GainNode;
window.GainNode = class extends Gain {
  constructor(context, options) { super(context, options); made.gains.push(this); }
};
const Source = window.AudioBufferSourceNode;
window.AudioBufferSourceNode = class extends Source {
  start(when, offset, length) {
    made.tones.push([this.playbackRate.value, offset]);
    super.start(when, offset, length);
  }
};"""


def test_each_chord_has_its_root_between_e1_and_e_flat_2() -> None:
    """Ebm9 Ab13(b9) Dbmaj13 Dm9 G7alt Cmaj9: Eb2, Ab1, Db2, D2, G1, C2 in MIDI numbers."""
    take = sample_take()
    rows = json.loads(roots_json(take))
    assert [midi for _, _, midi in rows] == [39, 32, 37, 38, 31, 36]
    onsets = [round(one.attack.onset_s, 3) for one in take.voicings]
    assert [start for start, _, _ in rows] == onsets
    for (start, length, _), (following, _, _) in pairwise(rows):
        assert start + length <= following + 0.002


def _pitches(page: Any) -> list[float]:
    found = []
    for rate, offset in page.evaluate("made.tones"):
        found.append(round(PITCHES[int(offset // SLOT_S)] + 12 * math.log2(rate), 2))
    return found


@pytest.fixture
def page(browser: Any, sheet: Path) -> Any:
    """The sample's page, listened to."""
    page = browser.new_page()
    page.add_init_script(LISTEN)
    page.goto(sheet.as_uri())
    until(page, "document.getElementById('sound').readyState >= 1")
    yield page
    page.close()


class TestInChromium:
    """What is heard."""

    pytestmark = NEEDS_CHROMIUM

    def test_roots_are_off_at_first_and_sound_softly_under_the_recording(self, page: Any) -> None:
        """Ab1 under Ab13(b9); the recording stays as loud as it was."""
        assert page.get_attribute("#rooted", "aria-pressed") == "false"
        page.click("#rooted")
        assert page.get_attribute("#rooted", "aria-pressed") == "true"
        until(page, "document.getElementById('piano').dataset.ready === 'true'")
        page.click("#v2 .play")
        until(page, "made.tones.length >= 1")
        assert _pitches(page)[0] == pytest.approx(32, abs=0.01)
        assert page.evaluate("made.gains[0].gain.value") == 1
        assert page.get_attribute("[data-hear='recording']", "aria-pressed") == "true"
        page.keyboard.press("r")
        assert page.get_attribute("#rooted", "aria-pressed") == "false"

    def test_both_readings_of_an_unsure_chord_can_be_heard(self, page: Any) -> None:
        """F B Eb Ab over G, as G7alt, or over Db, as Db9."""
        buttons = page.locator("#v5 [data-over]")
        assert buttons.all_text_contents() == ["G", "D\u266d"]
        buttons.nth(1).click()
        until(page, "made.tones.length >= 5")
        assert sorted(_pitches(page)[:5]) == pytest.approx([37, 53, 59, 63, 68], abs=0.01)
        assert page.locator("#v2 [data-over]").count() == 0
