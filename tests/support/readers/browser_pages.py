"""Pages in Chromium: how tests open one, wait for it and hear it."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from stackline.report.sound.page_sound import PageSound, page_sound
from stackline.shared.take import Take

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
NEEDS_CHROMIUM = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here"),
]
SIZES = {"desktop": (1280, 900), "phone": (390, 844)}
RATE_HZ = 32000


@contextmanager
def launched() -> Iterator[Any]:
    """A Chromium that may play without a click."""
    driver = pytest.importorskip("playwright.sync_api")
    with driver.sync_playwright() as play:
        chromium = play.chromium.launch(
            executable_path=CHROMIUM,
            args=["--no-sandbox", "--disable-background-networking",
                  "--autoplay-policy=no-user-gesture-required"],
        )  # fmt: skip
        yield chromium
        chromium.close()


def tones_of(take: Take, folder: Path) -> PageSound:
    """Sine tones where the take has notes; the recording itself is ``take.wav`` in the folder."""
    samples = np.zeros(int(take.source.duration_s * RATE_HZ))
    for one in take.notes:
        start = int(one.onset_s * RATE_HZ)
        end = min(int(one.offset_s * RATE_HZ), len(samples))
        phase = 2 * np.pi * 440 * 2 ** ((one.midi - 69) / 12) * np.arange(end - start) / RATE_HZ
        samples[start:end] += 0.05 * np.sin(phase)
    path = folder / "take.wav"
    soundfile.write(path, samples, RATE_HZ)
    sound = page_sound(path, take.source.duration_s)
    assert sound is not None
    return sound


def opened(browser: Any, path: Path, size: str = "desktop", scheme: str = "light") -> Any:
    """A page whose sound is ready; see `bare`."""
    page = bare(browser, path, size, scheme)
    until(page, "document.getElementById('sound').readyState >= 1")
    return page


def bare(browser: Any, path: Path, size: str = "desktop", scheme: str = "light") -> Any:
    """A page whose faults are collected in `page.faults`; reduced motion: no slow scrolling."""
    width, height = SIZES[size]
    page = browser.new_page(
        viewport={"width": width, "height": height}, color_scheme=scheme, reduced_motion="reduce"
    )
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else 0)
    page.goto(path.as_uri())
    return page


def until(page: Any, condition: str) -> None:
    """Wait for a condition; asked from outside, since the page's policy forbids `eval`."""
    for _ in range(400):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"still not true after 10 s: {condition}")


def sound(page: Any, what: str) -> Any:
    """A property of the audio element."""
    return page.evaluate(f"document.getElementById('sound').{what}")
