"""docs/libraries.md, pyproject.toml and the imports tell of the same libraries."""

import ast
import re
import sys
import tomllib
from pathlib import Path

import pytest

from tests.support.places import ROOT

PRODUCT = ("shared", "listen", "theory", "report", "practice", "stackline")
BESIDE = ("bench", "tests", "fixtures", "training", "scripts")
OWN = {*PRODUCT, *BESIDE}
TOOLS = {"ruff", "mypy"}  # called, not imported
MODULES = {
    "pillow": "PIL",
    "mir-eval": "mir_eval",
    "pretty-midi": "pretty_midi",
}  # where the name of the module is another
UNLISTED = {"torch", "triton", "onnx", "basic_pitch", "mingus"}  # asked for where they are used


def _declared() -> tuple[set[str], set[str]]:
    """Names that are installed for users (extras included), and for developers."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    users = [*project["dependencies"], *(one for k, v in extras.items() if k != "dev" for one in v)]
    return _names(users), _names(extras["dev"]) - {"stackline"}


def _names(requirements: list[str]) -> set[str]:
    return {re.match(r"[\w-]+", one)[0].lower() for one in requirements}  # type: ignore[index]


def _told() -> tuple[set[str], set[str]]:
    """Names in the first and in the second table of the page."""
    page = (ROOT / "docs" / "libraries.md").read_text(encoding="utf-8")
    first, second = page.split("## In tests")
    row = re.compile(r"^\| ([\w-]+)(?: \(extra `\w+`\))? \| [\d.]+ \|", re.MULTILINE)
    return set(row.findall(first)), set(row.findall(second))


def _imported(folders: tuple[str, ...]) -> set[str]:
    """Top names of everything imported in some folders that is neither ours nor Python's."""
    found: set[str] = set()
    for path in (path for folder in folders for path in _sources(ROOT / folder)):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {one.name.split(".")[0] for one in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                found.add(node.module.split(".")[0])
    return found - OWN - set(sys.stdlib_module_names)


def _sources(folder: Path) -> list[Path]:
    scripts = [path for path in folder.iterdir() if path.is_file() and _is_python(path)]
    return [*folder.rglob("*.py"), *scripts]


def _is_python(path: Path) -> bool:
    return path.suffix == "" and path.read_bytes()[:64].startswith(b"#!/usr/bin/env python")


def test_every_library_stands_in_its_table() -> None:
    """None is missing and none is too many, for users and for developers."""
    assert _told() == _declared()


@pytest.mark.parametrize("name", sorted(_declared()[0]))
def test_what_users_install_is_imported_by_what_they_install(name: str) -> None:
    """A library at run time has a place at run time."""
    assert MODULES.get(name, name) in _imported(PRODUCT)


@pytest.mark.parametrize("name", sorted(_declared()[1] - TOOLS))
def test_what_developers_install_is_imported_by_what_they_run(name: str) -> None:
    """And one for tests, benches and training has a place there."""
    assert MODULES.get(name, name) in _imported(BESIDE)


def test_what_is_imported_is_declared() -> None:
    """Nothing comes along by chance, as a part of something else."""
    users, developers = _declared()
    modules = {MODULES.get(name, name) for name in users}
    assert _imported(PRODUCT) <= modules
    beside = {MODULES.get(name, name) for name in developers}
    assert _imported(BESIDE) <= modules | beside | UNLISTED
