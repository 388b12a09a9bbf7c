"""A drill that adapts: weak keys oftener, spread out; a simulated player gets further with it."""

import json
import random
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.practice.planning.weak_keys import in_words, turns, weak_keys
from stackline.practice.progress.twelve_keys import KeyHistory
from stackline.practice.review.reviewing import CIRCLE, verdict
from stackline.shared.codec.codec_write import to_json
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of

TODAY = "2026-03-20"
II, V, I = TWO_FIVE  # noqa: E741
HANGING = (52, 56, 57, 62)  # the Ab of the V stays in the I


def history(key: int, clean: list[bool], *, days: int = 2, last: str | None = TODAY) -> KeyHistory:
    """A key after some passes."""
    return KeyHistory(
        key=key, verdict=verdict(clean, days=days), passes=len(clean), clean=sum(clean),
        false_starts=0, landed=0, due=0, best_bpm=None, last_played=last if clean else None,
    )  # fmt: skip


SOLID = [history(key, [True] * 3) for key in CIRCLE]


def test_weak_keys_come_oftener() -> None:
    """Wrong three times, coming and new and stale ones twice, solid ones once."""
    keys = list(SOLID)
    keys[2] = history(CIRCLE[2], [False, False])
    keys[5] = history(CIRCLE[5], [True, False])
    keys[7] = history(CIRCLE[7], [])
    keys[9] = replace(keys[9], last_played="2026-02-20")
    counted = Counter(weak_keys(keys, TODAY))
    assert [counted[key] for key in CIRCLE] == [1, 1, 3, 1, 1, 2, 1, 2, 1, 2, 1, 1]
    assert in_words(keys, TODAY) == (
        "more of what is weak: Bb 3 times (not yet), Db twice (coming), B twice (not played), "
        "A twice (not since 2026-02-20)"
    )


@pytest.mark.parametrize("seed", range(20))
def test_a_key_comes_back_after_others(seed: int) -> None:
    """Never twice in a row while there are others; every key at least once."""
    rng = random.Random(seed)
    keys = [
        history(key, [rng.random() < rng.random() for _ in range(rng.randint(0, 5))])
        for key in CIRCLE
    ]
    found = weak_keys(keys, TODAY)
    assert set(found) == set(range(12))
    assert all(one != other for one, other in pairwise(found))
    assert len(found) == sum(turns(one, TODAY) for one in keys)


class Player:
    """Four keys go wrong, eight are known; each turn teaches, each night something is lost.

    A learning curve that flattens, and forgetting: common knowledge; the rates are invented.
    """

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        weak = self.rng.sample(range(12), 4)
        self.skill = {key: 0.1 if key in weak else 0.9 for key in range(12)}
        self.book: dict[int, list[tuple[int, bool]]] = {key: [] for key in range(12)}

    def keys(self) -> list[KeyHistory]:
        """What the library would say."""
        return [
            history(key, [clean for _, clean in self.book[key]],
                    days=len({day for day, _ in self.book[key][-3:]}),
                    last=f"2026-03-{self.book[key][-1][0] + 1:02}" if self.book[key] else None)
            for key in CIRCLE
        ]  # fmt: skip

    def play(self, day: int, order: tuple[int, ...]) -> None:
        """An order from beginning to end."""
        for key in order:
            self.book[key].append((day, self.rng.random() < self.skill[key]))
            self.skill[key] += 0.08 * (1 - self.skill[key])
        self.skill = {key: 0.98 * one for key, one in self.skill.items()}


def after(seed: int, *, adapt: bool, days: int, a_day: int) -> tuple[float, float]:
    """Chance of a clean pass in the weakest key, and in all together, with so many turns a day."""
    player = Player(seed)
    for day in range(days):
        order = weak_keys(player.keys(), f"2026-03-{day + 1:02}") if adapt else CIRCLE
        player.play(day, tuple(order[i % len(order)] for i in range(a_day)))
    return min(player.skill.values()), sum(player.skill.values()) / 12


@pytest.mark.parametrize(("days", "a_day"), [(5, 18), (10, 12), (10, 18), (10, 24)])
def test_a_player_gets_further_with_as_many_turns(days: int, a_day: int) -> None:
    """Over two hundred simulated players; also where the drill is longer than the day's time."""
    adapted = [after(seed, adapt=True, days=days, a_day=a_day) for seed in range(200)]
    even = [after(seed, adapt=False, days=days, a_day=a_day) for seed in range(200)]
    for which in (0, 1):
        assert sum(one[which] for one in adapted) > sum(one[which] for one in even)


def test_the_command_takes_the_weakest_kept_target(tmp_path: Path) -> None:
    """Kept passes choose target, keys and tempo; without any, one sentence says what to do."""
    runner = CliRunner(env={"STACKLINE_HOME": str(tmp_path / "home")})
    nothing = runner.invoke(commands, ["drill", "--adapt"])
    assert nothing.exit_code != 0
    assert "kept are: none yet" in str(nothing.exception)
    rows = [*played(II, V, HANGING, start_s=0.5, up=3), *played(II, V, I, start_s=6.0)]
    path = tmp_path / "one.json"
    path.write_text(to_json(take_of(rows)))
    runner.invoke(commands, ["check", str(path), "--changes", TARGET_TEXT, "--add"])
    told = runner.invoke(commands, ["drill", "--adapt"])
    assert told.exit_code == 0, told.output
    assert "Eb 3 times (not yet), C twice (coming)" in told.output
    facts = json.loads(runner.invoke(commands, ["drill", "--adapt", "--json"]).stdout)
    assert [one["key"] for one in facts["keys"]].count("Eb") == 3
    assert facts["tempo_bpm"] == pytest.approx(180)  # three quarters of 240
    both = runner.invoke(commands, ["drill", "--adapt", "--keys", "C"])
    assert "leave --keys and --order out" in str(both.exception)
