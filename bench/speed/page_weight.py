"""How heavy a page is in a browser: bytes, first paint, height, memory, how soon a click sounds.

Run ``python -m bench.speed.page_weight`` (three minutes; needs Chromium and playwright). Two made
takes, of 40 seconds and of 30 minutes, read from their true notes, with decaying tones as their
sound. Each figure is the median of `RUNS` loads, but bytes and heights, which do not change:

* bytes: of the page without sound, and with it;
* paint_s: first contentful paint after navigation (W3C Paint Timing), file already written;
* height_px: of the whole page as it opens, on a desk (1280) and on a phone (390);
* memory_mb: proportional set size of the tab's process (Linux), after a scroll to the end;
* clicks: from a click on a voicing to the sound: the recording's `playing` event, and for the
  written notes the time at which the first of them is to start, without what a sound card adds.

Results: bench/results/page_weight.json. Aims: 0.3 s and 1 s to paint, 20,000 px on a desk, 300 MB,
6 MB, 50 ms.
"""

import json
import re
import shutil
import statistics
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from playwright.sync_api import Browser, Page, sync_playwright

from bench.scoring.provenance import provenance
from fixtures.played.takes import LISTED, make_take
from stackline import Note, read_notes
from stackline.report.outputs import write
from stackline.shared.files import write_text
from stackline.shared.take import Take

RESULTS = Path(__file__).parent.parent / "results" / "page_weight.json"
LENGTHS_MIN = {"40 s": 0, "30 min": 30}
RUNS = 5
CLICKS = 20
RATE_HZ = 22050
SEED = 61_000
PLAYED = """() => new Promise((heard) => {
  const sound = document.getElementById("sound");
  const from = performance.now();
  sound.addEventListener("playing", () => heard(performance.now() - from), { once: true });
  setTimeout(() => heard(-1), 3000);
  document.querySelectorAll(".rung:not([hidden]) .play")[NUMBER].click();
})"""
WRITTEN = """() => new Promise((heard) => {
  const from = performance.now();
  const start = AudioBufferSourceNode.prototype.start;
  AudioBufferSourceNode.prototype.start = function (when, ...rest) {
    AudioBufferSourceNode.prototype.start = start;
    heard(performance.now() - from + 1000 * Math.max(0, when - this.context.currentTime));
    return start.call(this, when, ...rest);
  };
  setTimeout(() => heard(-1), 3000);
  document.querySelectorAll(".rung:not([hidden]) .play")[NUMBER].click();
})"""


def made_take(minutes: int) -> Take:
    """A take of so many minutes, put together from minutes of their own; 0: of 40 seconds."""
    notes: list[Note] = []
    for k in range(max(minutes, 1)):
        true = make_take(SEED + k, LISTED, duration_s=60.0 if minutes else 40.0)
        notes += [
            Note(onset_s=one.onset_s + 60 * k, offset_s=min(one.offset_s, 60.0) + 60 * k + 0.01,
                 midi=one.midi, velocity=one.velocity, confidence=0.97)
            for one in true.notes if one.onset_s < 59.9
        ]  # fmt: skip
    return read_notes(notes, name="made.wav")


def put_sound(take: Take, path: Path) -> None:
    """Tones that die away where the take has notes."""
    samples = np.zeros(int((take.source.duration_s + 1) * RATE_HZ), dtype=np.float32)
    for one in take.notes:
        start, end = int(one.onset_s * RATE_HZ), int(one.offset_s * RATE_HZ)
        t = np.arange(max(end - start, 1)) / RATE_HZ
        tone = np.sin(2 * np.pi * 440 * 2 ** ((one.midi - 69) / 12) * t) * np.exp(-2 * t)
        samples[start : start + len(t)] += 0.05 * tone[: len(samples) - start]
    soundfile.write(path, samples, RATE_HZ)


def tab_memory_mb(browser: Browser) -> float:
    """The proportional set size of the largest renderer process."""
    session = browser.new_browser_cdp_session()
    found = session.send("SystemInfo.getProcessInfo")["processInfo"]
    sizes = [pss_mb(one["id"]) for one in found if one["type"] == "renderer"]
    return max(sizes)


def pss_mb(process: int) -> float:
    """What a process holds, shared pages counted in part."""
    text = Path(f"/proc/{process}/smaps_rollup").read_text(encoding="utf-8")
    found = re.search(r"^Pss:\s+(\d+) kB", text, re.MULTILINE)
    return int(found[1]) / 1024 if found else 0.0


def paint_s(page: Page) -> float:
    """When something first stood on the page, in seconds."""
    for _ in range(200):
        found = page.evaluate(
            "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? null"
        )
        if found is not None:
            return float(found) / 1000
        page.wait_for_timeout(25)
    raise RuntimeError("nothing was painted")


def clicks_ms(page: Page, script: str) -> list[float]:
    """How long each of some clicks took to sound, from voicing to voicing."""
    count = page.locator(".rung:not([hidden]) .play").count()
    step = max(count // CLICKS, 1)
    found = []
    for i in range(min(CLICKS, count)):
        found.append(page.evaluate(script.replace("NUMBER", str(i * step))))
        page.evaluate("document.getElementById('sound').pause()")
        page.wait_for_timeout(60)
    return found


def one_load(browser: Browser, path: Path, width: int) -> tuple[float, int, float]:
    """First paint, height and memory of one load."""
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.goto(path.as_uri())
    paint, height = paint_s(page), int(page.evaluate("document.documentElement.scrollHeight"))
    page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
    page.wait_for_timeout(500)
    memory = tab_memory_mb(browser)
    page.close()
    return paint, height, memory


def measured(browser: Browser, path: Path) -> dict[str, Any]:
    """All figures of one page but its bytes."""
    desk = [one_load(browser, path, 1280) for _ in range(RUNS)]
    _, phone, _ = one_load(browser, path, 390)
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(path.as_uri())
    page.wait_for_timeout(1500)
    recording = clicks_ms(page, PLAYED)
    page.locator(".hear[data-hear=notes]").click()
    page.wait_for_selector("#piano[data-ready]", state="attached")
    notes = clicks_ms(page, WRITTEN)
    page.close()
    return {
        "paint_s": round(statistics.median(one[0] for one in desk), 2),
        "paint_s_worst": round(max(one[0] for one in desk), 2),
        "height_px": desk[0][1],
        "height_phone_px": phone,
        "memory_mb": round(statistics.median(one[2] for one in desk)),
        "click_recording_ms": spread(recording),
        "click_notes_ms": spread(notes),
    }


def spread(found: list[float]) -> dict[str, float]:
    """Median and worst; -1 stands for a click that was not heard within three seconds."""
    return {"median": round(statistics.median(found), 1), "worst": round(max(found), 1),
            "unheard": sum(one < 0 for one in found)}  # fmt: skip


def main() -> None:
    """Make both pages, measure, keep."""
    result: dict[str, Any] = {"provenance": provenance(), "runs": RUNS, "clicks": CLICKS}
    with tempfile.TemporaryDirectory() as name, sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"],
        )
        for label, minutes in LENGTHS_MIN.items():
            folder = Path(name) / label
            folder.mkdir()
            take = made_take(minutes)
            sound = folder / "made.wav"
            put_sound(take, sound)
            (path,) = write(take, folder, ["page"])
            plain = path.stat().st_size
            write(take, folder, ["page"], sound)
            result[label] = {
                "voicings": len(take.voicings),
                "bytes_without_sound": plain,
                "bytes": path.stat().st_size,
            } | measured(browser, path)
        browser.close()
    write_text(RESULTS, json.dumps(result, indent=1) + "\n")
    print(json.dumps(result, indent=1))


if __name__ == "__main__":
    main()
