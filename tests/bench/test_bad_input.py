"""A sample of the bad inputs and of the kills; the benches run a thousand and two hundred."""

import os
from functools import partial
from pathlib import Path

import pytest

from bench.spoiled.bad_input import KINDS, cases, outcomes, rows, table
from bench.spoiled.case import Case
from bench.spoiled.judge import FAULTS, judge
from bench.spoiled.kept_kills import kept_kills
from bench.spoiled.kills import kills

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="runs commands in forks")
OTHER_SEED = 7  # not that of the figures


@pytest.mark.parametrize("kind", KINDS)
def test_bad_input_is_told_and_harms_nothing(kind: str) -> None:
    """A few of each kind: no traceback, no hang, nothing half written, little memory."""
    some = [one for one in cases(0.025, OTHER_SEED) if one.kind == kind]
    found = outcomes(some)
    assert len(found) >= 2
    faults = [(one.verdict, one.words, one.errors) for one in found if one.verdict in FAULTS]
    assert faults == []
    assert max(one.peak_mb for one in found) < 600


def test_the_thousand_are_a_thousand() -> None:
    """Two hundred of them are takes as JSON; each has a seed of its own."""
    all_of_them = cases()
    assert len(all_of_them) == 1000
    assert sum(one.kind == "broken JSON takes" for one in all_of_them) == 200
    assert len({(one.kind, one.seed) for one in all_of_them}) == 1000


def test_the_judge_sees_faults(tmp_path: Path) -> None:
    """A traceback, an end without a word, and a changed file are found where they are."""
    for name, code, verdict in (
        ("raises", "raise ValueError('x')", "traceback"),
        ("silent", "import sys; sys.exit(2)", "silent"),
        ("spoils", "open('kept.txt', 'w').write('x')", "damaged"),
        ("leaves", "open('.stackline-x', 'w').write('x')", "damaged"),
    ):
        folder = tmp_path / name
        folder.mkdir()
        case = Case(kind="test", seed=0, make=lambda folder, _: _kept(folder))
        found = judge(case, folder, run=partial(exec, code))
        assert found.verdict == verdict, name
        assert verdict in FAULTS
        assert f"| {1} |" in table(rows([found]))


def _kept(folder: Path) -> list[str]:
    (folder / "kept.txt").write_text("the player's own")
    return []


def test_kills_lose_nothing() -> None:
    """Ten of the two hundred."""
    found = kills(10, OTHER_SEED)
    assert found["lost or not whole"] == []
    assert found["said to be added"] >= 5
    assert found["said to be written"] >= 5


def test_kills_lose_nothing_of_kept_practice() -> None:
    """Six of the two hundred: a check that is added, a correction, a backup put back."""
    for kind, found in kept_kills(6, OTHER_SEED).items():
        assert found["lost or not whole"] == [], kind
        assert found["said to be done"], kind
