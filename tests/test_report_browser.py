"""The study sheet in Chromium: what is heard, lit, looped and printed."""

import math
import shutil
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from report.embedded_audio import EmbeddedAudio, embed
from report.page import render
from report.page_piano import LEAD_S, PITCHES, SLOT_S
from shared.take import Take
from tests.sample_take import empty_take, long_take, sample_take

playwright = pytest.importorskip("playwright.sync_api")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here"),
]
SIZES = {"desktop": (1280, 900), "phone": (390, 844)}
RATE_HZ = 32000


def sound_of(take: Take, folder: Path) -> EmbeddedAudio:
    """Sine tones where the take has notes."""
    samples = np.zeros(int(take.source.duration_s * RATE_HZ))
    for one in take.notes:
        start = int(one.onset_s * RATE_HZ)
        end = min(int(one.offset_s * RATE_HZ), len(samples))
        phase = 2 * np.pi * 440 * 2 ** ((one.midi - 69) / 12) * np.arange(end - start) / RATE_HZ
        samples[start:end] += 0.05 * np.sin(phase)
    path = folder / "take.wav"
    soundfile.write(path, samples, RATE_HZ)
    sound = embed(path, take.source.duration_s)
    assert sound is not None
    return sound


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    """One Chromium for all; it may play without a click."""
    with playwright.sync_playwright() as driver:
        chromium = driver.chromium.launch(
            executable_path=CHROMIUM,
            args=["--no-sandbox", "--disable-background-networking",
                  "--autoplay-policy=no-user-gesture-required"],
        )  # fmt: skip
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample take's page, with sound."""
    folder = tmp_path_factory.mktemp("sheet")
    path = folder / "sheet.html"
    path.write_text(render(sample_take(), sound_of(sample_take(), folder)), encoding="utf-8")
    return path


def opened(browser, path: Path, size: str = "desktop", scheme: str = "light"):  # type: ignore[no-untyped-def]
    """A page whose faults are collected in `page.faults`; reduced motion: no slow scrolling."""
    width, height = SIZES[size]
    page = browser.new_page(
        viewport={"width": width, "height": height}, color_scheme=scheme, reduced_motion="reduce"
    )
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else 0)
    page.goto(path.as_uri())
    until(page, "document.getElementById('sound').readyState >= 1")
    return page


def until(page, condition: str) -> None:  # type: ignore[no-untyped-def]
    """Wait for a condition; asked from outside, since the page's policy forbids `eval`."""
    for _ in range(400):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"still not true after 10 s: {condition}")


def sound(page, what: str) -> float:  # type: ignore[no-untyped-def]
    """A property of the audio element."""
    return page.evaluate(f"document.getElementById('sound').{what}")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_opens_and_fits(browser, sheet: Path, size: str, scheme: str) -> None:  # type: ignore[no-untyped-def]
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


def test_a_click_on_a_voicing_plays_it_to_its_end(browser, sheet: Path) -> None:  # type: ignore[no-untyped-def]
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


@pytest.mark.parametrize("size", SIZES)
def test_a_link_leads_to_its_voicing(browser, tmp_path: Path, size: str) -> None:  # type: ignore[no-untyped-def]
    """From the top of a long page to voicing 300 it is on the screen, whatever was drawn before."""
    path = tmp_path / "long.html"
    path.write_text(render(long_take(400)), encoding="utf-8")
    width, height = SIZES[size]
    page = browser.new_page(viewport={"width": width, "height": height})
    page.goto(f"{path.as_uri()}#v300")
    page.wait_for_timeout(300)
    box = page.locator("#v300 h3").bounding_box()
    assert box is not None
    assert 0 <= box["y"] < height - 100
    page.evaluate("document.querySelector('#v12').scrollIntoView()")
    page.evaluate("document.querySelector('#v200').scrollIntoView()")
    page.wait_for_timeout(300)
    box = page.locator("#v200 h3").bounding_box()
    assert box is not None
    assert 0 <= box["y"] < height - 100
    page.close()


def test_a_loop_repeats_a_voicing_and_can_grow(browser, sheet: Path) -> None:  # type: ignore[no-untyped-def]
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


def test_half_speed_keeps_the_pitch(browser, sheet: Path) -> None:  # type: ignore[no-untyped-def]
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


def test_a_click_on_the_chart_plays_from_there(browser, sheet: Path) -> None:  # type: ignore[no-untyped-def]
    """The middle of bar 3 is the middle of bar 3, and the cursor stands in that bar."""
    page = opened(browser, sheet)
    page.click(".bar >> nth=2")  # playwright clicks the middle
    until(page, "!document.getElementById('sound').paused")
    assert sound(page, "currentTime") == pytest.approx(6.75, abs=0.5)
    assert page.locator(".bar.at").count() == 1
    assert page.locator(".bar").nth(2).get_attribute("class") == "bar at"
    page.close()


def test_a_click_on_a_chord_in_the_score_plays_it(browser, sheet: Path) -> None:  # type: ignore[no-untyped-def]
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


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_score_takes_the_colours_of_the_page(browser, sheet: Path, scheme: str) -> None:  # type: ignore[no-untyped-def]
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


def test_a_long_score_is_folded(browser, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """The first page shows; the band is drawn on a folded page once it is opened."""
    path = tmp_path / "long.html"
    path.write_text(render(long_take(100), sound_of(long_take(100), tmp_path)), encoding="utf-8")
    page = opened(browser, path)
    assert page.locator(".sheet > svg:visible").count() == 1
    page.click("#v100 .play")
    until(page, "document.querySelector('#v100').classList.contains('at')")
    page.keyboard.press("Space")
    page.click(".score summary")
    assert page.locator(".sheet > svg:visible").count() == page.locator(".sheet > svg").count() > 2
    until(page, "document.querySelectorAll('.sheet .band').length === 1")
    assert page.faults == []
    page.close()


def test_everything_works_from_the_keyboard(browser, sheet: Path) -> None:  # type: ignore[no-untyped-def]
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


def test_the_written_notes_can_be_heard_instead(browser, sheet: Path) -> None:  # type: ignore[no-untyped-def]
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
    assert page.evaluate("made.pans.map((node) => node.pan.value)") == [-1, 1]
    page.close()


@pytest.mark.parametrize("midi", [45, 61, 77])
def test_the_piano_sounds_on_time_and_in_tune(browser, sheet: Path, midi: int) -> None:  # type: ignore[no-untyped-def]
    """Rendered by the browser, a note begins when it was asked for, at its pitch, and ends."""
    page = browser.new_page()
    page.goto(sheet.as_uri())
    heard = page.evaluate(
        f"""(async () => {{
          const context = new OfflineAudioContext(1, 48000, 16000);
          const voice = await pianoFor(context, context.destination);
          voice({midi}, 0.4, 0.5, 1.0);
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


def test_a_hostile_title_stays_text(browser, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Nothing runs, and the heading shows what the file was called."""
    name = '<img src=x onerror="document.title=1"><script>document.title=1</script>'
    path = tmp_path / "hostile.html"
    path.write_text(render(sample_take(name)), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())
    assert page.inner_text("h1") == name
    assert page.title().startswith("<img")
    assert page.locator("img").count() == 0
    page.close()


def test_a_page_without_sound_asks_for_the_recording(browser, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Opening the file makes the buttons play it."""
    path = tmp_path / "silent.html"
    path.write_text(render(sample_take()), encoding="utf-8")
    sound_of(sample_take(), tmp_path)
    page = browser.new_page()
    page.goto(path.as_uri())
    page.set_input_files("#file", tmp_path / "take.wav")
    until(page, "document.getElementById('sound').duration > 18")
    page.click("#v1 .play")
    until(page, "document.getElementById('sound').currentTime > 0.5")
    page.close()


def test_an_empty_page_works(browser, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Nothing to light, nothing to break."""
    path = tmp_path / "empty.html"
    path.write_text(render(empty_take(), sound_of(empty_take(), tmp_path)), encoding="utf-8")
    page = opened(browser, path)
    for key in ("ArrowRight", "ArrowLeft", "l", "h", "f", "Escape", "Space"):
        page.keyboard.press(key)
    page.click("#loop")
    assert page.faults == []
    page.close()


def test_the_sheet_prints(browser, sheet: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
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


def test_four_hundred_voicings_open_quickly(browser, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Five to six minutes with sound: under 6 MB, open in under 2 s, 30 frames a second or more."""
    take = long_take(400)
    path = tmp_path / "long.html"
    path.write_text(render(take, sound_of(take, tmp_path)), encoding="utf-8")
    assert path.stat().st_size < 6_000_000
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    started = time.monotonic()
    page.goto(path.as_uri(), wait_until="load")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")
    assert time.monotonic() - started < 2.0
    page.click("#v3 .play")
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
