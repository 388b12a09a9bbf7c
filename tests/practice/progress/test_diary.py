"""Three weeks of practice through the commands: every number against a count of our own.

The diary is made from a seed: on most days a take, in each some keys, at some tempo, some passes
with the b9 left hanging, now and then a false start. The test keeps its own book.
"""

import datetime
import json
import random
from collections import defaultdict
from pathlib import Path
from statistics import mean
from typing import Any

import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.practice.targets.numerals import key_name
from stackline.shared.codec.codec_write import to_json
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of

II, V, I = TWO_FIVE  # noqa: E741
HANGING = (52, 56, 57, 62)  # the Ab of the V stays in the I: three of four land
NAMES = tuple(key_name(key) for key in range(12))
FIRST_DAY = datetime.date(2026, 2, 2)  # a Monday


class Book:
    """What was played, as a careful player would write it down."""

    def __init__(self) -> None:
        self.passes: list[tuple[str, int, bool, float]] = []  # day, key, clean, beats a minute
        self.false_starts: dict[int, int] = defaultdict(int)

    def key(self, key: int) -> dict[str, Any]:
        """The row of a key."""
        here = [one for one in self.passes if one[1] == key]
        clean = [one for one in here if one[2]]
        last = here[-3:]
        solid = len(last) == 3 and all(one[2] for one in last) and len({d for d, *_ in last}) > 1
        verdict = "solid" if solid else "coming" if clean else "not yet"
        return {
            "verdict": verdict if here else "not played",
            "passes": len(here),
            "clean": len(clean),
            "false_starts": self.false_starts[key],
            "landed": sum(4 if one[2] else 3 for one in here),
            "due": 4 * len(here),
            "best_bpm": max((one[3] for one in clean), default=None),
            "last_played": here[-1][0] if here else None,
        }

    def week(self, monday: datetime.date) -> dict[str, Any]:
        """The row of a week."""
        days = {(monday + datetime.timedelta(days=i)).isoformat() for i in range(7)}
        here = [one for one in self.passes if one[0] in days]
        return {
            "passes": len(here),
            "clean": sum(one[2] for one in here),
            "landed": sum(4 if one[2] else 3 for one in here),
            "due": 4 * len(here),
            "keys": len({one[1] for one in here}),
            "mean_bpm": mean(one[3] for one in here if one[2]),
        }


def one_day(rng: random.Random, day: str, book: Book) -> list[tuple[float, tuple[int, ...]]]:
    """The rows of a take, written down in the book."""
    rows: list[tuple[float, tuple[int, ...]]] = []
    at = 0.5
    every_s = rng.choice((0.8, 1.0, 1.5))
    for key in rng.choices(
        range(12), weights=(9, 1, 2, 5, 1, 9, 1, 5, 2, 1, 5, 0), k=rng.randint(2, 6)
    ):
        if rng.random() < 0.15:
            rows += played(II, V, start_s=at, every_s=every_s, up=key)
            book.false_starts[key] += 1
            at += 2 * every_s + 4.5
        clean = rng.random() < 0.7
        rows += played(II, V, I if clean else HANGING, start_s=at, every_s=every_s, up=key)
        book.passes.append((day, key, clean, 240.0 / every_s))
        at += 3 * every_s + 2.0
    return rows


def test_three_weeks_add_up(tmp_path: Path) -> None:
    """Twelve keys, three weeks, seventeen days or so: passes, landings, tempi, dates, verdicts."""
    rng = random.Random(2026)
    book = Book()
    runner = CliRunner(env={"STACKLINE_HOME": str(tmp_path / "home")})
    for offset in range(21):
        if rng.random() < 0.2:
            continue
        day = (FIRST_DAY + datetime.timedelta(days=offset)).isoformat()
        take = take_of(one_day(rng, day, book), name=f"{day}.wav", sha256=f"{offset + 1:064x}")
        path = tmp_path / f"{day}.json"
        path.write_text(to_json(take))
        told = runner.invoke(
            commands, ["check", str(path), "--changes", TARGET_TEXT, "--add", "--on", day]
        )
        assert told.exit_code == 0, told.output
    data = json.loads(runner.invoke(commands, ["progress", "--json"]).output)["targets"][0]
    rows = {row["key"]: row for row in data["keys"]}
    for key, name in enumerate(NAMES):
        own = book.key(key)
        found = {fact: rows[name][fact] for fact in own}
        best, own_best = found.pop("best_bpm"), own.pop("best_bpm")
        assert best == (own_best and pytest.approx(own_best, rel=0.01)), name
        assert found == own, name
    weeks = {row["monday"]: row for row in data["weeks"]}
    assert len(weeks) == 3
    for i in range(3):
        monday = FIRST_DAY + datetime.timedelta(days=7 * i)
        own = book.week(monday)
        found = {fact: weeks[monday.isoformat()][fact] for fact in own}
        assert found.pop("mean_bpm") == pytest.approx(own.pop("mean_bpm"), rel=0.01)
        assert found == own
    text = runner.invoke(commands, ["progress"]).output
    total, clean = len(book.passes), sum(one[2] for one in book.passes)
    assert sum(row["passes"] for row in data["keys"]) == total
    assert sum(row["clean"] for row in data["keys"]) == clean
    assert "B    not played" in text
    assert "B (never played)" in text
