"""Every number that a module defines says what it is: its unit, and where it is from.

A unit may stand in the name (``LATEST_S``). Else there is a comment beside it or above it, a
docstring below it, or a sentence of the module's docstring that names it. "Ours" in a comment is a
choice of this project that no source was read for.
"""

import ast
import re
from pathlib import Path

import pytest

from tests.support.places import ROOT

ROOMS = ("shared", "listen", "theory", "report", "practice", "stackline")
UNITS = re.compile(
    r"_(S|MS|DAYS|HZ|BPM|DB|MIDI|CENTS|SEMITONES|PX|PT|MB|BYTES|BARS|BEATS|W|H|FRAMES|BINS|KEYS)(_|$)"
)
NAME = re.compile(r"[A-Z_][A-Z_0-9, ]*[:=]")


def _assigned(node: ast.stmt) -> tuple[list[str], ast.expr] | None:
    """The names and the value of an assignment."""
    if isinstance(node, ast.AnnAssign) and node.value is not None:
        targets: list[ast.expr] = [node.target]
    elif isinstance(node, ast.Assign):
        targets = node.targets
    else:
        return None
    value = node.value
    assert value is not None
    return [one.id for one in ast.walk(targets[0]) if isinstance(one, ast.Name)], value


def _is_number(value: ast.expr) -> bool:
    """Whether a value is made of numbers; what is called for is said by what is called."""
    return not isinstance(value, ast.Call) and any(
        isinstance(one, ast.Constant) and type(one.value) in (int, float) for one in ast.walk(value)
    )


def _has_comment(lines: list[str], first: int, last: int) -> bool:
    """A comment on its lines, a docstring below, or a comment above it or above its group."""
    below = lines[last].strip() if last < len(lines) else ""
    if any("#" in line for line in lines[first - 1 : last]) or below.startswith('"""'):
        return True
    above = first - 2
    while above >= 0 and NAME.match(lines[above]):
        above -= 1
    return above >= 0 and lines[above].strip().startswith("#")


def unsaid(text: str) -> list[str]:
    """Names of numbers of a module's text that say neither unit nor origin."""
    lines, tree, found = text.splitlines(), ast.parse(text), []
    said = set(re.findall(r"\w+", ast.get_docstring(tree) or ""))
    for node in tree.body:
        assigned = _assigned(node)
        if assigned is None or not _is_number(assigned[1]):
            continue
        names = [name for name in assigned[0]
                 if not UNITS.search(name) and not said & {name, name.strip("_")}]  # fmt: skip
        if names and not _has_comment(lines, node.lineno, node.end_lineno or node.lineno):
            found += names
    return found


FILES = sorted(path for room in ROOMS for path in (ROOT / room).rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_number_says_what_it_is(path: Path) -> None:
    """Of the product; those of tests and benches stand beside what they are for."""
    assert unsaid(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("MANY = 3", ["MANY"]),
        ("MANY = 3  # notes", []),
        ("# Notes.\nMANY, MORE = 3, 4\nMOST = 5", []),
        ("LATE_S = 0.5", []),
        ('"""At most MANY notes."""\nMANY = 3', []),
        ("ROWS = {\n    1: 2.0,\n}", ["ROWS"]),
        ("ROWS = {\n    1: 2.0,  # semitones: weight\n}", []),
        ("ON = True\nTEXT = 'x'\nMADE = make(3)", []),
    ],
)
def test_the_rule_itself(text: str, names: list[str]) -> None:
    """What passes and what does not."""
    assert unsaid(text) == names
