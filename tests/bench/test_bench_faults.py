"""Faults put in on purpose: each kind has its place, and words are left alone."""

import ast
from pathlib import Path

import numpy as np
import pytest

from bench.small_faults.fault_kinds import faults_in
from bench.small_faults.faults import chosen, mirrored

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


def test_tests_are_those_that_mirror_the_file(tmp_path: Path) -> None:
    """Its own test first, then its folder's, then with wide the room's; else the room's at once."""
    folder = tmp_path / "tests/practice/finding"
    folder.mkdir(parents=True)
    (folder / "test_passes.py").touch()
    file = "practice/finding/passes.py"
    own, here = "tests/practice/finding/test_passes.py", "tests/practice/finding"
    assert mirrored(file, tmp_path, wide=False) == [[own], [here]]
    assert mirrored(file, tmp_path, wide=True) == [[own], [here], ["tests/practice"]]
    assert mirrored("practice/other/x.py", tmp_path, wide=False) == [["tests/practice"]]
