"""What the outputs cost, and how the page behaves.

``python -m bench.speed.rendering --bank FOLDER``. Five minutes of made comping (`make_file`), some
400 voicings, default formats (page, JSON, MIDI). In one process, after a warming run, alternately
and `ROUNDS` times, the median of each counting:

* hearing alone: `stackline.transcribe`, nothing beside it;
* hearing while the page's sound is made in a process of its own, then writing with the score
  drawn in another, as the command does.

The share that a player waits for outputs is (second - first) / first. Seconds of all processor
cores are given too, those of the other processes included: they say what outputs cost where no
core is idle.

The page is opened in Chromium (Playwright): time from the address to the first frame after
``load``, bytes, and frames a second and the longest gap between two frames during
`PLAYING_S` seconds of playing at half speed with both sounds, which is the most it can do.

Results go to bench/results/rendering.json.
"""

import json
import os
import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from itertools import pairwise
from pathlib import Path
from statistics import median

import click

from bench.scoring.provenance import provenance
from bench.speed.speed import make_file
from stackline.cli import DEFAULT_FORMATS
from stackline.ears import DEFAULT_EAR
from stackline.pipeline import transcribe
from stackline.report.outputs import write
from stackline.report.page.page_worker import PageInTheMaking
from stackline.shared.files import write_text
from stackline.shared.take import Take

RESULTS = Path(__file__).parents[1] / "results" / "rendering.json"
AUDIO_S = 300.0
ROUNDS = 5
PLAYING_S = 5
FORMATS = tuple(DEFAULT_FORMATS.split(","))
FRAMES = """(seconds) => new Promise((done) => {
  const times = [];
  const end = performance.now() + seconds * 1000;
  const count = (now) => {
    times.push(now);
    if (now < end) requestAnimationFrame(count); else done(times);
  };
  requestAnimationFrame(count);
})"""


@dataclass(frozen=True, kw_only=True)
class Cost:
    """Seconds on the clock, and seconds of all processor cores."""

    clock_s: float
    cores_s: float


def cost(work: Callable[[], object]) -> Cost:
    """What a piece of work takes."""
    clock, cores = time.perf_counter(), cores_so_far()
    work()
    return Cost(
        clock_s=round(time.perf_counter() - clock, 2),
        cores_s=round(cores_so_far() - cores, 2),
    )


def cores_so_far() -> float:
    """Processor seconds of this process and of those that it started and saw end."""
    return sum(os.times()[:4])


def hear_and_write(path: Path, ear: str, folder: Path) -> tuple[Take, float]:
    """What the command does with one recording; seconds from the end of the hearing."""
    with PageInTheMaking(path) as making:
        take = transcribe(path, ear=ear)
        heard = time.perf_counter()
        write(take, folder, FORMATS, making=making)
        return take, time.perf_counter() - heard


def middle(costs: list[Cost]) -> Cost:
    """The median of each figure."""
    return Cost(
        clock_s=round(median(one.clock_s for one in costs), 2),
        cores_s=round(median(one.cores_s for one in costs), 2),
    )


def outputs_cost(path: Path, ear: str, folder: Path) -> dict[str, object]:
    """Hearing alone against hearing and writing, in turn."""
    take, _ = hear_and_write(path, ear, folder)
    alone, both, after_s = [], [], []
    for _ in range(ROUNDS):
        alone.append(cost(lambda: transcribe(path, ear=ear)))
        both.append(cost(lambda: after_s.append(hear_and_write(path, ear, folder)[1])))
    hearing, whole = middle(alone), middle(both)
    last = middle([cost(lambda: write(take, folder, FORMATS)) for _ in range(ROUNDS)])
    return {
        "voicings": len(take.voicings),
        "rounds": ROUNDS,
        "hearing_alone": asdict(hearing),
        "hearing_and_outputs": asdict(whole),
        "after_hearing_s": round(median(after_s), 2),
        "share_after_hearing": round(median(after_s) / hearing.clock_s, 3),
        "share_waited_for": round(whole.clock_s / hearing.clock_s - 1, 3),
        "share_of_cores": round(whole.cores_s / hearing.cores_s - 1, 3),
        "writing_without_sound": asdict(last),
    }


def page_in_browser(page_file: Path) -> dict[str, object]:
    """How the page opens and plays."""
    from playwright.sync_api import sync_playwright

    found = shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=found,
            args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"],
        )
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        started = time.perf_counter()
        page.goto(page_file.as_uri(), wait_until="load")
        page.evaluate("new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")
        opened = time.perf_counter() - started
        page.click("[data-rate='0.5']")
        page.click("[data-hear='both']")
        page.click("#follow")
        page.click("#play")
        times = page.evaluate(FRAMES, PLAYING_S)
        played = page.evaluate("document.getElementById('sound').currentTime")
        browser.close()
    gaps = [after - before for before, after in pairwise(times)]
    return {
        "bytes": page_file.stat().st_size,
        "open_s": round(opened, 2),
        "frames_a_second": round(1000 * len(gaps) / sum(gaps), 1),
        "longest_gap_ms": round(max(gaps), 1),
        "played_s": round(played, 2),
        "chromium": browser.version,
    }


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--ear", default=DEFAULT_EAR, show_default=True)
@click.option("--out", type=click.Path(path_type=Path), default=RESULTS, show_default=True)
def main(bank: Path, ear: str, out: Path) -> None:
    """Time the outputs against the hearing; open the page."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = make_file(folder / "five_minutes.wav", bank, AUDIO_S)
        before = os.getloadavg()[0]
        result = {
            "ear": ear,
            "audio_s": AUDIO_S,
            "formats": FORMATS,
            "outputs": outputs_cost(path, ear, folder),
            "page": page_in_browser_after(path, ear, folder),
            "load_average_before": round(before, 2),
        } | provenance()
    write_text(out, json.dumps(result, indent=2) + "\n")
    click.echo(json.dumps(result, indent=2))


def page_in_browser_after(path: Path, ear: str, folder: Path) -> dict[str, object]:
    """The page as the command writes it, with its sound, then opened."""
    hear_and_write(path, ear, folder)
    return page_in_browser(folder / "five_minutes.html")


if __name__ == "__main__":
    main()
