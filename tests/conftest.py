"""Shared by tests: golden files, with a switch to write them anew; a page in a browser."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from stackline.report.page.page import render
from stackline.report.words.take_view import TakeView
from tests.support.readers.browser_pages import launched, tones_of
from tests.support.takes.sample_take import sample_take

settings.register_profile("house", deadline=None)  # a busy machine is no fault of the code
settings.load_profile("house")

GOLDEN = Path(__file__).parent / "golden"


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the switch."""
    parser.addoption(
        "--update-golden", action="store_true", help="write tests/golden anew from what comes out"
    )


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compare a text with the golden file of that name, or write the file with the switch."""

    def compare(name: str, text: str) -> None:
        path = GOLDEN / name
        if request.config.getoption("--update-golden"):
            path.write_bytes(text.encode("utf-8"))
        assert path.exists(), f"tests/golden/{name} is missing; run pytest --update-golden"
        expected = path.read_bytes().decode("utf-8")
        assert text == expected, (
            f"tests/golden/{name} differs; if the new text is right, run pytest --update-golden"
        )

    return compare


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    """One Chromium for all."""
    with launched() as chromium:
        yield chromium


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample take's page, with sound."""
    folder = tmp_path_factory.mktemp("sheet")
    path = folder / "sheet.html"
    audio = tones_of(sample_take(), folder).audio
    path.write_text(render(TakeView(sample_take()), audio), encoding="utf-8")
    return path
