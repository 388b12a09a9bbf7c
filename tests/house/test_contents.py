"""Every folder's docstring is its table of contents, and the folders stay small."""

import ast
import re
from pathlib import Path

import pytest

from tests.support.places import ROOT

HOUSE = ("shared", "listen", "theory", "report", "practice", "stackline", "fixtures", "bench")
MOST_ENTRIES = 12
MOST_TESTS = 15
MOST_LINES = 300
LONGER = {
    "bench/naming/labels.py", "bench/practising/check.py", "fixtures/played/practised.py",
    "listen/time/bar_pointer.py", "training/classifiers/fit_general_judge.py",
    "training/synthesis/acoustics.py", "tests/practice/drills/test_drill.py",
    "tests/practice/library/test_library.py", "tests/practice/review/test_check.py",
    "tests/practice/targets/test_targets.py", "tests/report/page/test_report_browser.py",
    "tests/report/page/test_report_page.py", "tests/report/score/test_out_of_time.py",
    "tests/support/takes/sample_take.py",
}  # fmt: skip
PACKAGES = sorted(path.parent for room in HOUSE for path in (ROOT / room).rglob("__init__.py"))


def _entries(folder: Path) -> list[str]:
    """What a reader sees in a folder, without what Python and the tools leave there."""
    names = (path.stem if path.suffix == ".py" else path.name for path in folder.iterdir())
    return sorted(name for name in names if not name.startswith(("__", ".")))


@pytest.mark.parametrize("folder", PACKAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_folder_says_what_is_in_it(folder: Path) -> None:
    """A first sentence, what comes in, what goes out; every file that it names is there."""
    text = ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8")))
    assert text, folder
    if folder == ROOT / "stackline":  # the public API's own
        return
    assert "In: " in text, folder
    assert "Out: " in text, folder
    entries = set(_entries(folder))
    named = set(re.findall(r"`([a-z_]+)`", text))
    rooms = {path.name for path in ROOT.iterdir()}
    known = entries | rooms | {path.name for path in folder.parent.iterdir()}
    assert named <= known, f"{folder} names {named - known}"
    assert named & entries, f"{folder} names none of its own files"


@pytest.mark.parametrize("folder", PACKAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_folder_can_be_read_at_a_glance(folder: Path) -> None:
    """Twelve entries at the most, beside the table of contents."""
    assert 2 <= len(_entries(folder)) <= MOST_ENTRIES, _entries(folder)


def _tests() -> list[Path]:
    """The folders of the tests, those of their data aside."""
    found = [path.parent for path in (ROOT / "tests").rglob("*.py")]
    return sorted({path for path in found if path != ROOT / "tests"})


@pytest.mark.parametrize("folder", _tests(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_folder_of_tests_can_be_read_at_a_glance(folder: Path) -> None:
    """Fifteen: a file of the house may have two files of tests. `tests` has one for each room."""
    assert len(_entries(folder)) <= MOST_TESTS, _entries(folder)


def test_the_path_for_newcomers_can_be_walked() -> None:
    """From hearing to a degree stack in ten files, each tied by an import to one before it."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("## From hearing to a degree stack in ten files")[1].split("\n## ")[0]
    path = re.findall(r"^\d+\. `([\w/]+)\.py`", section, re.MULTILINE)
    assert 1 < len(path) <= 10
    assert path[0] == "listen/hearing"
    assert path[-1] == "theory/chords/degrees"
    walked: list[str] = []
    for file in path:
        assert not walked or any(_imports(file, one) or _imports(one, file) for one in walked), file
        walked.append(file)


def _imports(file: str, other: str) -> bool:
    name = other.replace("/", ".").removeprefix("stackline.")
    text = (ROOT / f"{file}.py").read_text(encoding="utf-8")
    return re.search(rf"^from stackline\.{re.escape(name)} import", text, re.MULTILINE) is not None


def test_no_more_files_grow_long() -> None:
    """Three hundred lines are one idea; those that are longer are known, to be parted."""
    rooms = ("shared", "listen", "theory", "report", "practice", "stackline", "bench", "training",
             "fixtures", "tests", "scripts")  # fmt: skip
    found = {
        str(path.relative_to(ROOT))
        for room in rooms
        for path in (ROOT / room).rglob("*.py")
        if len(path.read_text(encoding="utf-8").splitlines()) > MOST_LINES
    }
    assert found - LONGER == set()
