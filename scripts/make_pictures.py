"""Make the pictures in docs/ from the bundled recording: `python scripts/make_pictures.py`.

Hears the recording with the default ear, opens its page in Debian's or the path's Chromium
and takes the upper part of it. Needs the `dev` extra and Chromium.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from stackline.commands.demo_command import bundled_recording  # noqa: E402
from stackline.pipeline import transcribe  # noqa: E402
from stackline.report.outputs import write  # noqa: E402

WIDTH, HEIGHT = 1180, 1400
QUIET = ("--no-sandbox", "--disable-background-networking", "--disable-component-update")


def main() -> None:
    """Write docs/page.png."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        sys.exit("no chromium on the path: install it, for example with apt install chromium")
    recording = bundled_recording()
    with tempfile.TemporaryDirectory() as folder:
        write(transcribe(recording), Path(folder), ("page",), recording)
        page_file = next(Path(folder).glob("*.html"))
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=list(QUIET))
            page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
            page.goto(page_file.as_uri())
            page.screenshot(path=ROOT / "docs" / "page.png")
            browser.close()


if __name__ == "__main__":
    main()
