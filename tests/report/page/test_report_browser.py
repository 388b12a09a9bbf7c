"""The study sheet in Chromium: what is heard, lit and looped."""

import math
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from stackline.report.page.page import render
from stackline.report.sound.embedded_audio import EmbeddedAudio
from stackline.report.sound.page_piano import LEAD_S, PITCHES, SLOT_S
from stackline.report.sound.page_sound import page_sound
from stackline.report.words.take_view import TakeView
from tests.support.readers.browser_pages import (
    NEEDS_CHROMIUM,
    RATE_HZ,
    SIZES,
    bare,
    opened,
    sound,
    tones_of,
    until,
)
from tests.support.takes.sample_take import long_take, sample_take

pytestmark = NEEDS_CHROMIUM


def test_a_click_on_a_voicing_plays_it_to_its_end(browser: Any, sheet: Path) -> None:
    """Sound starts at the onset, the voicing is lit, and it stops where the voicing ends."""
    page = opened(browser, sheet)
    page.click("#v2 .play")
    until(page, "!document.getElementById('sound').paused")
    assert sound(page, "currentTime") == pytest.approx(3.0, abs=0.4)
    assert page.get_attribute("#v2", "aria-current") == "true"
    assert page.inner_text("#now").startswith("A\u266d13(\u266d9)")
    until(page, "document.getElementById('sound').paused")
    assert sound(page, "currentTime") == pytest.approx(5.5, abs=0.15)
    assert page.faults == []
    page.close()


def test_a_loop_repeats_a_voicing_and_can_grow(browser: Any, sheet: Path) -> None:
    """At the end of the loop the sound goes back to its start."""
    page = opened(browser, sheet)
    page.click("#v5 .loop")
    page.evaluate("document.getElementById('sound').currentTime = 15.3")
    until(page, "document.getElementById('sound').currentTime < 14")
    assert sound(page, "paused") is False
    page.keyboard.press("Shift+ArrowRight")
    assert page.get_attribute("#v6 .loop", "aria-pressed") == "true"
    page.evaluate("document.getElementById('sound').currentTime = 15.4")
    until(page, "document.getElementById('sound').currentTime > 15.6")
    page.keyboard.press("Escape")
    assert page.get_attribute("#loop", "aria-pressed") == "false"
    assert page.faults == []
    page.close()


def test_half_speed_keeps_the_pitch(browser: Any, sheet: Path) -> None:
    """The rate is a half, the browser is told to keep the pitch, and time runs at half speed."""
    page = opened(browser, sheet)
    page.click("[data-rate='0.5']")
    assert sound(page, "playbackRate") == 0.5
    assert sound(page, "preservesPitch") is True
    page.click("#play")
    until(page, "document.getElementById('sound').currentTime > 0.05")
    before, started = sound(page, "currentTime"), time.monotonic()
    page.wait_for_timeout(1000)
    passed = (sound(page, "currentTime") - before) / (time.monotonic() - started)
    assert passed == pytest.approx(0.5, abs=0.12)
    page.close()


def test_a_click_on_the_chart_plays_from_there(browser: Any, sheet: Path) -> None:
    """The middle of bar 3 is the middle of bar 3, and the cursor stands in that bar."""
    page = opened(browser, sheet)
    page.click(".bar >> nth=2")  # playwright clicks the middle
    until(page, "!document.getElementById('sound').paused")
    assert sound(page, "currentTime") == pytest.approx(6.75, abs=0.5)
    assert page.locator(".bar.at").count() == 1
    assert page.locator(".bar").nth(2).get_attribute("class") == "bar at"
    page.close()


def test_a_click_on_a_chord_in_the_score_plays_it(browser: Any, sheet: Path) -> None:
    """The chord sounds and stands on a band, beside it counts as on it, and the page stays put."""
    page = opened(browser, sheet)
    head = page.locator(".sheet .chord.voicing-2 .notehead use").first
    head.scroll_into_view_if_needed()
    box = head.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2 + 14, box["y"] + box["height"] / 2 + 5)
    until(page, "!document.getElementById('sound').paused")
    assert sound(page, "currentTime") == pytest.approx(5.5, abs=0.4)
    until(page, "document.querySelectorAll('.sheet .band').length === 1")
    band = page.locator(".sheet .band").bounding_box()
    after = head.bounding_box()
    assert band is not None
    assert after is not None
    assert after["y"] == pytest.approx(box["y"], abs=1)
    assert band["x"] < after["x"] < band["x"] + band["width"]
    assert band["y"] < after["y"] < band["y"] + band["height"]
    assert page.get_attribute("#v3", "aria-current") == "true"
    page.keyboard.press("ArrowRight")
    assert page.locator(".sheet .chord.voicing-3.at").count() >= 1
    assert page.locator(".sheet .voicing-2.at").count() == 0
    assert page.locator(".sheet .band").count() == 1
    assert page.faults == []
    page.close()


def test_everything_works_from_the_keyboard(browser: Any, sheet: Path) -> None:
    """Arrows go through the voicings, space plays and pauses, H halves the speed."""
    page = opened(browser, sheet)
    page.keyboard.press("ArrowRight")
    assert page.get_attribute("#v1", "aria-current") == "true"
    page.keyboard.press("ArrowRight")
    assert page.get_attribute("#v2", "aria-current") == "true"
    page.keyboard.press("ArrowLeft")
    assert page.get_attribute("#v1", "aria-current") == "true"
    page.keyboard.press("Space")
    assert sound(page, "paused") is True
    page.keyboard.press("h")
    assert sound(page, "playbackRate") == 0.5
    page.focus("#v3 .play")
    page.keyboard.press("Enter")
    until(page, "!document.getElementById('sound').paused")
    assert page.get_attribute("#v3", "aria-current") == "true"
    assert page.faults == []
    page.close()


def test_the_written_notes_can_be_heard_instead(browser: Any, sheet: Path) -> None:
    """Switched to the notes, the page sounds the pitches of the voicing and mutes the recording."""
    page = browser.new_page()
    page.add_init_script(
        """const made = window.made = { tones: [], gains: [], pans: [] };
        for (const [name, kept] of [["GainNode", "gains"], ["StereoPannerNode", "pans"]]) {
          const Plain = window[name];
          window[name] = class extends Plain {
            constructor(context, options) { super(context, options); made[kept].push(this); }
          };
        }
        const Source = window.AudioBufferSourceNode;
        window.AudioBufferSourceNode = class extends Source {
          start(when, offset, length) {
            made.tones.push([this.playbackRate.value, offset]);
            super.start(when, offset, length);
          }
        };"""
    )
    page.goto(sheet.as_uri())
    until(page, "document.getElementById('sound').readyState >= 1")
    page.click("[data-hear='notes']")
    until(page, "document.getElementById('piano').dataset.ready === 'true'")
    page.click("#v2 .play")
    until(page, "made.tones.length >= 4")
    pitches, leads = [], []
    for rate, offset in page.evaluate("made.tones.slice(0, 4)"):
        slot, lead = divmod(offset, SLOT_S)
        pitches.append(PITCHES[int(slot)] + 12 * math.log2(rate))
        leads.append(lead)
    assert sorted(pitches) == pytest.approx([54, 60, 65, 69], abs=0.01)
    assert all(LEAD_S <= lead < LEAD_S + 0.08 for lead in leads)
    assert page.evaluate("made.gains.slice(0, 2).map((node) => node.gain.value)") == [0, 1]
    page.keyboard.press("n")
    assert page.get_attribute("[data-hear='both']", "aria-pressed") == "true"
    assert page.evaluate("made.gains.slice(0, 2).map((node) => node.gain.value)") == [1, 1]
    assert page.evaluate("made.pans.map((node) => node.pan.value)") == [-1, 1, 0]
    page.close()


@pytest.mark.parametrize("midi", [45, 61, 77])
def test_the_piano_sounds_on_time_and_in_tune(browser: Any, sheet: Path, midi: int) -> None:
    """Rendered by the browser, a note begins when it was asked for, at its pitch, and ends."""
    page = browser.new_page()
    page.goto(sheet.as_uri())
    heard = page.evaluate(
        f"""(async () => {{
          const context = new OfflineAudioContext(1, 48000, 16000);
          const voice = await pianoFor(context);
          voice({midi}, 0.4, 0.5, 1.0, context.destination);
          return Array.from((await context.startRendering()).getChannelData(0));
        }})()"""
    )
    samples = np.array(heard)
    onset_s = np.flatnonzero(np.abs(samples) > 0.1 * np.abs(samples).max())[0] / 16000
    assert onset_s == pytest.approx(0.5, abs=0.03)
    assert np.abs(samples[-8000:]).max() < 0.02 * np.abs(samples).max()
    note = samples[9600:22400]
    echo = np.correlate(note, note, "full")[len(note) - 1 :]
    expected = 16000 / (440 * 2 ** ((midi - 69) / 12))  # MIDI Tuning Standard
    low, high = round(expected * 0.8), round(expected * 1.25) + 1
    period = low + int(np.argmax(echo[low:high]))
    assert period == pytest.approx(expected, abs=max(0.6, 0.02 * expected))
    page.close()


def test_a_page_without_sound_asks_for_the_recording(browser: Any, tmp_path: Path) -> None:
    """Opening the file makes the buttons play it."""
    path = tmp_path / "silent.html"
    path.write_text(render(TakeView(sample_take())), encoding="utf-8")
    tones_of(sample_take(), tmp_path)
    page = browser.new_page()
    page.goto(path.as_uri())
    page.set_input_files("#file", tmp_path / "take.wav")
    until(page, "document.getElementById('sound').duration > 18")
    page.click("#v1 .play")
    until(page, "document.getElementById('sound').currentTime > 0.5")
    page.close()


def test_the_browser_hears_the_sound_where_it_was(browser: Any, tmp_path: Path) -> None:
    """Chromium's decoder finds bursts within 2 ms of their times, and the length is the take's."""
    times = [0.5, 2.0, 3.25]
    samples = np.zeros(4 * RATE_HZ)
    for time_s in times:
        at = slice(int(time_s * RATE_HZ), int((time_s + 0.02) * RATE_HZ))
        samples[at] = 0.5 * np.sin(2 * np.pi * 1000 * np.arange(at.stop - at.start) / RATE_HZ)
    path = tmp_path / "bursts.wav"
    soundfile.write(path, samples, RATE_HZ)
    made = page_sound(path, 4.0)
    assert made is not None
    sheet = tmp_path / "bursts.html"
    sheet.write_text(render(TakeView(sample_take()), made.audio), encoding="utf-8")
    page = opened(browser, sheet)
    found, length = page.evaluate(
        """async (times) => {
          const uri = document.getElementById("sound").src;
          const bytes = Uint8Array.from(atob(uri.split(",")[1]), (char) => char.charCodeAt(0));
          const rate = 48000;
          const context = new OfflineAudioContext(1, rate, rate);
          const buffer = await context.decodeAudioData(bytes.buffer);
          const heard = buffer.getChannelData(0);
          const onset = (time) => {
            const start = Math.round((time - 0.2) * rate);
            const loud = heard.subarray(start).findIndex((sample) => Math.abs(sample) > 0.2);
            return (start + loud) / rate;
          };
          return [times.map(onset), buffer.duration];
        }""",
        times,
    )
    assert found == pytest.approx(times, abs=0.002)
    assert length == pytest.approx(4.0, abs=0.05)
    assert sound(page, "duration") == pytest.approx(4.0, abs=0.05)
    page.close()


def test_a_browser_that_cannot_play_the_sound_asks_for_the_file(
    browser: Any, tmp_path: Path
) -> None:
    """The button to open the recording is out of the way until what is inside fails."""
    good, bad = tmp_path / "good.html", tmp_path / "bad.html"
    good.write_text(
        render(TakeView(sample_take()), tones_of(sample_take(), tmp_path).audio), encoding="utf-8"
    )
    bad.write_text(
        render(TakeView(sample_take()), EmbeddedAudio(mime="audio/mp4", data=b"no sound at all")),
        encoding="utf-8",
    )
    page = opened(browser, good)
    until(page, "document.getElementById('sound').readyState >= 2")
    assert not page.is_visible(".choose")
    page.close()
    page = bare(browser, bad)
    page.wait_for_selector(".choose", state="visible", timeout=5000)
    page.set_input_files("#file", tmp_path / "take.wav")
    page.click("#v2 .play")
    until(page, "document.getElementById('sound').currentTime > 0.1")
    page.close()


@pytest.mark.parametrize("size", SIZES)
def test_the_page_follows_what_sounds(browser: Any, tmp_path: Path, size: str) -> None:
    """With "follow" on, a voicing far down is brought to the middle when it sounds; else not."""
    take = long_take(60)
    path = tmp_path / "long.html"
    path.write_text(render(TakeView(take), tones_of(take, tmp_path).audio), encoding="utf-8")
    page = opened(browser, path, size)
    start = take.voicings[50].attack.onset_s + 0.05
    page.evaluate(f"document.getElementById('sound').currentTime = {start}")
    page.click("#play")
    until(page, "document.getElementById('v51').classList.contains('at')")
    assert page.evaluate("scrollY") == 0
    page.click("#follow")
    until(page, "scrollY > 1000 && document.querySelector('.rung.at') !== null")
    lit = page.evaluate(
        "(() => { const box = document.querySelector('.rung.at').getBoundingClientRect();"
        " return [box.top, box.bottom, innerHeight]; })()"
    )
    assert lit[0] < lit[2]
    assert lit[1] > 0
    page.close()


def test_every_voicing_is_reached_forward_and_back(browser: Any, sheet: Path) -> None:
    """Arrows go one voicing at a time, also when the one before has sounded to its end."""
    page = opened(browser, sheet)
    count = page.locator(".rung").count()
    lit = "document.querySelector('.rung.at').id"
    for number in range(1, count + 1):
        page.keyboard.press("ArrowRight")
        assert page.evaluate(lit) == f"v{number}"
        page.evaluate(
            "(id) => { const spans = JSON.parse(document.getElementById(id).dataset.spans);"
            " document.getElementById('sound').currentTime = spans.at(-1)[1] - 0.03; }",
            f"v{number}",
        )
        until(page, "document.getElementById('sound').paused")
        assert page.evaluate(lit) == f"v{number}", "the light stays on the voicing that was played"
    for number in range(count - 1, 0, -1):
        page.keyboard.press("ArrowLeft")
        assert page.evaluate(lit) == f"v{number}"
    assert page.faults == []
    page.close()


def test_a_loop_from_the_keyboard_takes_the_voicing_that_was_heard(
    browser: Any, sheet: Path
) -> None:
    """L after a voicing has ended repeats that voicing, not the next one."""
    page = opened(browser, sheet)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.evaluate("document.getElementById('sound').currentTime = 5.47")
    until(page, "document.getElementById('sound').paused")
    page.keyboard.press("l")
    assert page.get_attribute("#v2 .loop", "aria-pressed") == "true"
    assert page.get_attribute("#v3 .loop", "aria-pressed") == "false"
    page.close()


def test_the_next_step_can_be_heard_and_looped(browser: Any, sheet: Path) -> None:
    """The one thing to work on leads to its place, sounds, and repeats both chords."""
    page = opened(browser, sheet)
    assert "went" in page.inner_text(".answer.next")
    page.click(".answer.next [data-from]")
    until(page, "!document.getElementById('sound').paused")
    page.click(".answer.next [data-loop]")
    assert page.get_attribute("#v2 .loop", "aria-pressed") == "true"
    assert page.get_attribute("#v3 .loop", "aria-pressed") == "true"
    assert page.get_attribute("#loop", "aria-pressed") == "true"
    assert page.faults == []
    page.close()


def test_names_total_and_volume(browser: Any, sheet: Path) -> None:
    """Note names appear beside the stacks, the clock says how long it is, quieter is quieter."""
    page = opened(browser, sheet)
    assert not page.locator("#v1 .note-names").is_visible()
    page.keyboard.press("d")
    assert page.locator("#v1 .note-names").is_visible()
    until(page, "document.getElementById('total').textContent.startsWith('0:')")
    page.evaluate(
        "const el = document.getElementById('volume'); el.value = 0.5;"
        " el.dispatchEvent(new Event('input'))"
    )
    assert sound(page, "volume") == 0.25
    page.close()


def test_a_long_take_is_folded_and_can_be_sifted(browser: Any, tmp_path: Path) -> None:
    """400 voicings stay under 20,000 pixels; a choice shows its voicings alone, folded or not."""
    path = tmp_path / "long.html"
    path.write_text(render(TakeView(long_take(400))), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())
    assert page.evaluate("document.documentElement.scrollHeight") < 20_000
    word, label = page.evaluate(
        "(() => { const one = document.querySelector('#filter').options[3];"
        " return [one.value, one.text]; })()"
    )
    assert label
    page.select_option("#filter", word)
    chosen = page.locator(f".rung[data-kinds~='{word}']")
    assert 0 < chosen.count() < page.locator(".rung").count()
    assert page.locator(".rung:not([hidden])").count() == chosen.count()
    chosen.last.scroll_into_view_if_needed()
    assert chosen.last.is_visible()
    assert not page.locator(".rung[hidden]").first.is_visible()
    page.select_option("#filter", "")
    assert page.locator("details.part").first.is_visible()
    page.close()
