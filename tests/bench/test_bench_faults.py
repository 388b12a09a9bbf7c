"""Faults put in on purpose: each kind has its place, and words are left alone."""

import ast
from pathlib import Path

import numpy as np
import pytest

from bench.small_faults.fault_kinds import faults_in
from bench.small_faults.faults import chosen, plan
from bench.small_faults.passing_tests import Passing, shared_names, trace
from tests.support.places import ROOT

SOURCE = '''"""A docstring with 3 numbers < 4."""

LIMIT = 0.5


def pick(rows: list[int], limit: float = 0.5) -> int:
    """Another docstring."""
    if not rows:
        return 0
    best = max(rows)
    for row in rows:
        if row > limit and row != best:
            rows.append(row)
            best += row * 2
    return f"{best:+d} and {3}"
'''


def changes(kind: str) -> set[tuple[str, str]]:
    """What the faults of a kind replace by what."""
    return {(one.was, one.now) for one in faults_in(SOURCE) if one.kind == kind}


@pytest.mark.parametrize(
    ("kind", "was", "now"),
    [
        ("comparison", "row > limit", "(row <= limit)"),
        ("comparison", "row != best", "(row == best)"),
        ("constant", "2", "(3)"),
        ("condition", "not rows", "(rows)"),
        ("condition", "row > limit and row != best", "(row > limit or row != best)"),
        ("sum", "row * 2", "(row / 2)"),
        ("choice", "max(rows)", "(min(rows))"),
        ("statement", "rows.append(row)", "pass"),
        ("statement", "best += row * 2", "pass"),
        ("statement", "return 0", "pass"),
    ],
)
def test_each_kind_of_fault_is_put_in(kind: str, was: str, now: str) -> None:
    """The fault stands in the text where the sound code stood, and nowhere else."""
    assert (was, now) in changes(kind)
    fault = next(one for one in faults_in(SOURCE) if (one.was, one.now) == (was, now))
    assert fault.text == SOURCE.replace(was, now, 1) or was == "2"
    ast.parse(fault.text)


def test_words_are_left_alone() -> None:
    """No fault in a docstring or in a formatted text: tests of doing would not find it."""
    lines = {one.line for one in faults_in(SOURCE)}
    assert 1 not in lines
    assert 7 not in lines
    assert SOURCE.count("\n") not in lines


def test_a_sample_takes_every_kind_in_turn() -> None:
    """Six faults of a file with six kinds are of six kinds; the draw follows the seed."""
    some = chosen(SOURCE, 6, np.random.default_rng(1))
    assert len({one.kind for one in some}) == 6
    assert some == chosen(SOURCE, 6, np.random.default_rng(1))
    assert len(chosen(SOURCE, 1000, np.random.default_rng(1))) == len(faults_in(SOURCE))


SHARED = """from functools import cache

LIMIT = 3


@cache
def table():
    return [LIMIT]


def pick(rows):
    return rows[0]
"""


@pytest.mark.parametrize(("line", "names"), [(3, ["LIMIT"]), (8, ["table"]), (12, [])])
def test_what_is_made_once_is_asked_for_by_name(line: int, names: list[str]) -> None:
    """A constant, and a function whose result is kept; a plain function's lines are its tests'."""
    assert shared_names(SHARED, line) == names


def test_a_fault_is_tried_on_the_tests_that_run_its_line() -> None:
    """The file's own test first, then the quickest; a constant's where its name is used."""
    passing = Passing(
        tests={"tests/a/test_b.py::slow": 3.0, "tests/a/test_b.py::quick": 1.0,
               "tests/a/test_pick.py::own": 5.0},
        lines={"a/pick.py": {8: ["tests/a/test_b.py::slow"],
                             12: ["tests/a/test_b.py::slow", "tests/a/test_b.py::quick",
                                  "tests/a/test_pick.py::own"]}},
    )  # fmt: skip
    texts = {"a/pick.py": SHARED}
    tests = passing.for_fault("a/pick.py", 12, texts, 8.0)
    assert tests == ["tests/a/test_pick.py::own", "tests/a/test_b.py::quick"]
    assert passing.for_fault("a/pick.py", 3, texts, 8.0) == ["tests/a/test_b.py::slow"]


def test_a_line_is_traced_to_its_tests(tmp_path: Path) -> None:
    """A tree of one function and two tests, of which one runs it."""
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "__init__.py").touch()  # else an installed tree's own would come first
    (tmp_path / "shared" / "double.py").write_text("def double(n):\n    return 2 * n\n")
    folder = tmp_path / "tests" / "shared"
    folder.mkdir(parents=True)
    (folder / "test_it.py").write_text(
        "from shared.double import double\n"
        "def test_run():\n    assert double(2) == 4\n"
        "def test_other():\n    assert double\n"
    )
    for beside in ("bench", "stackline"):
        (tmp_path / beside).symlink_to(ROOT / beside)
    found = trace(tmp_path, tmp_path / "map.json", ["shared"])
    assert set(found.tests) == {"tests/shared/test_it.py::test_run",
                                "tests/shared/test_it.py::test_other"}  # fmt: skip
    assert found.lines["shared/double.py"][2] == ["tests/shared/test_it.py::test_run"]


def test_a_plan_is_the_same_again(tmp_path: Path) -> None:
    """So many faults, over all files alike; a file's do not depend on the others'."""
    for name in "abc":
        (tmp_path / f"{name}.py").write_text(SOURCE)
    found = plan(["a.py", "b.py", "c.py"], tmp_path, 7, seed=3)
    assert len(found) == 7
    assert found == plan(["a.py", "b.py", "c.py"], tmp_path, 7, seed=3)
    assert {file for file, _ in found} == {"a.py", "b.py", "c.py"}
