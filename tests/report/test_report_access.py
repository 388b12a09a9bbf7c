"""The study sheet for readers with a screen reader, a keyboard, weak eyes: checked by axe-core.

axe-core (MPL-2.0, npm registry) is fetched when these tests run and kept nowhere; without npm or
network they are skipped.
"""

import shutil
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from stackline.report.outputs import write, write_index
from stackline.shared.take import Take
from tests.support.places import ROOT
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take

playwright = pytest.importorskip("playwright.sync_api")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
NPM = shutil.which("npm")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here"),
    pytest.mark.skipif(NPM is None, reason="axe-core is fetched with npm, which is not here"),
]
TAKES = {"sample": sample_take, "no grid": gridless_take, "long": lambda: long_take(60),
         "empty": empty_take}  # fmt: skip


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The script of axe-core."""
    folder = tmp_path_factory.mktemp("axe")
    command = [str(NPM), "pack", "axe-core@4", "--silent", "--fetch-retries=0"]
    try:
        subprocess.run(command, cwd=folder, check=True, capture_output=True, timeout=60)
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired) as fault:
        pytest.skip(f"axe-core could not be fetched from the npm registry: {fault}")
    (packed,) = folder.glob("axe-core-*.tgz")
    with tarfile.open(packed) as archive:
        script = archive.extractfile("package/axe.min.js")
        assert script is not None
        return script.read().decode("utf-8")


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    """One Chromium for all."""
    with playwright.sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield chromium
        chromium.close()


def faults(browser: Any, axe: str, path: Path, scheme: str, width: int = 1280) -> list[str]:
    """Serious and critical violations: rule, and the first elements at fault."""
    context = browser.new_context(
        bypass_csp=True, color_scheme=scheme, viewport={"width": width, "height": 900}
    )
    page = context.new_page()
    page.goto(path.as_uri())
    page.evaluate(axe)
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    context.close()
    assert found["testEngine"]["name"] == "axe-core"
    return [
        f"{one['id']}: {[node['html'][:120] for node in one['nodes'][:3]]}"
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("which", TAKES)
def test_the_sheet_has_no_serious_fault(
    browser: Any, axe: str, tmp_path: Path, which: str, scheme: str
) -> None:
    """Names, roles, contrast, order: nothing that axe-core calls serious or critical."""
    take: Take = TAKES[which]()
    (path,) = write(take, tmp_path, ("page",))
    assert faults(browser, axe, path, scheme) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_other_pages_have_no_serious_fault(
    browser: Any, axe: str, tmp_path: Path, scheme: str
) -> None:
    """The index, the score, and the sheet on a phone."""
    (score,) = write(sample_take(), tmp_path, ("score",))
    index = write_index([sample_take(), empty_take()], tmp_path)
    (sheet,) = write(sample_take(), tmp_path, ("page",))
    assert faults(browser, axe, score, scheme) == []
    assert faults(browser, axe, index, scheme) == []
    assert faults(browser, axe, sheet, scheme, width=390) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_state_has_no_serious_fault(
    browser: Any, axe: str, tmp_path: Path, scheme: str
) -> None:
    """The style page: what is pressed, lit, under the mouse or has the keyboard on it, too."""
    path = tmp_path / "style.html"
    script = ROOT / "scripts" / "style" / "make_style_page.py"
    subprocess.run([sys.executable, str(script), str(path)], check=True, capture_output=True)
    assert faults(browser, axe, path, scheme) == []


def test_the_check_finds_a_fault(browser: Any, axe: str, tmp_path: Path) -> None:
    """A picture without words is found, so silence means something."""
    path = tmp_path / "bad.html"
    path.write_text("<!doctype html><html lang=en><title>x</title><img src='data:,'></html>")
    assert any(fault.startswith("image-alt") for fault in faults(browser, axe, path, "light"))
