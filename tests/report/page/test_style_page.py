"""The style page shows every element of the pages, and how they look is kept, with a tolerance."""

import importlib.util
import re
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from PIL import Image

from stackline.report.html import asset
from tests.support.places import GOLDEN, ROOT
from tests.support.readers.browser_pages import NEEDS_CHROMIUM

SCRIPT = ROOT / "scripts" / "style" / "make_style_page.py"
SHRUNK = 4  # a quarter of the size: what is left of letters is where they stand, not their edges
BLOCK = 8  # pixels of the small picture
NEAR = 10  # grey levels between two blocks that look alike
MOST_APART = 0.01  # of all blocks
WIDTH_OF_TITLE = """() => {
  const range = document.createRange();
  range.selectNodeContents(document.querySelector("h1"));
  return range.getBoundingClientRect().width;
}"""


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    """The script, as a module."""
    spec = importlib.util.spec_from_file_location("make_style_page", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def style(maker: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page, written."""
    path = tmp_path_factory.mktemp("style") / "style.html"
    path.write_text(maker.page(), encoding="utf-8")
    return path


def test_every_class_of_the_style_is_shown(style: Path) -> None:
    """What has a rule stands on the page: a new element comes with its place there."""
    css = re.sub(r"/\*.*?\*/|\{[^{}]*\}", " ", asset("page.css"), flags=re.DOTALL)
    ruled = set(re.findall(r"\.([a-z][\w-]*)", css))
    body = style.read_text(encoding="utf-8").partition("</style>")[2]
    there = {word for found in re.findall(r'class="([^"]*)"', body) for word in found.split()}
    assert ruled - there == set()


def test_hover_and_focus_are_shown_by_classes(maker: ModuleType) -> None:
    """Each rule for them is there once more."""
    again = maker.forced_states("a { color: red } button:hover { x: y } :focus-visible { o: p }")
    assert "button.is-hover { x: y }" in again
    assert ".is-focus { o: p }" in again
    assert "color: red" not in again


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1200, 390])
@pytest.mark.browser
def test_it_looks_as_it_did(
    browser: Any, style: Path, scheme: str, width: int, request: pytest.FixtureRequest
) -> None:
    """A picture of each width and colour scheme, block by block (``--update-golden`` keeps it).

    Only with the fonts that it was made with: a word of the page must be as wide.
    """
    page = browser.new_page(viewport={"width": width, "height": 1000}, color_scheme=scheme)
    page.goto(style.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    shot = style.with_name(f"{scheme}-{width}.png")
    page.screenshot(path=shot, full_page=True)
    wide = round(page.evaluate(WIDTH_OF_TITLE))
    page.close()
    kept = GOLDEN / f"style-{scheme}-{width}.{wide}.png"
    if request.config.getoption("--update-golden"):
        for old in GOLDEN.glob(f"style-{scheme}-{width}.*.png"):
            old.unlink()
        small(shot).save(kept, optimize=True)
    if not kept.exists():
        pytest.skip("the pictures were made with other fonts than this machine has")
    with Image.open(kept) as before:
        assert apart(small(shot), before) <= MOST_APART


def test_a_changed_look_would_be_seen() -> None:
    """The measure can fail: a panel a little darker, a column moved by its own width."""
    plain = Image.new("L", (240, 240), 250)
    panel, moved = plain.copy(), plain.copy()
    panel.paste(225, (40, 40, 90, 90))
    moved.paste(0, (100, 0, 108, 240))
    assert apart(plain, plain) == 0
    assert apart(panel, plain) > MOST_APART
    assert apart(moved, plain) > MOST_APART


def small(path: Path) -> Image.Image:
    """A picture in grey, a quarter of its size."""
    with Image.open(path) as found:
        grey = found.convert("L")
        return grey.resize((grey.width // SHRUNK, grey.height // SHRUNK), Image.Resampling.BOX)


def apart(one: Image.Image, other: Image.Image) -> float:
    """The share of blocks that differ in their mean grey; all where the sizes differ a lot."""
    if abs(one.height - other.height) > BLOCK or one.width != other.width:
        return 1.0
    rows = min(one.height, other.height) // BLOCK
    columns = one.width // BLOCK
    means = [
        np.asarray(picture, dtype=float)[: rows * BLOCK, : columns * BLOCK]
        .reshape(rows, BLOCK, columns, BLOCK)
        .mean(axis=(1, 3))
        for picture in (one, other)
    ]
    return float((np.abs(means[0] - means[1]) > NEAR).mean())


test_it_looks_as_it_did = NEEDS_CHROMIUM[1](test_it_looks_as_it_did)
