"""Spacing: a month counted by hand, and a month simulated day by day."""

import datetime
from collections.abc import Iterator
from pathlib import Path

import pytest

from stackline.practice.library.library import Library
from stackline.practice.planning.plan import make_plan
from stackline.practice.planning.plan_text import render, to_data
from stackline.practice.progress.due import due_dates
from stackline.practice.progress.progress_text import due_text, progress_on
from stackline.practice.progress.progress_text import render as render_progress
from stackline.practice.targets.target_text import parse_target
from stackline.shared.complaint import Complaint
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of

TARGET = parse_target(TARGET_TEXT, name="study")
WRONG = (*TWO_FIVE[:2], (52, 56, 57, 62))  # the last chord with a G# in place of its 5
MARCH = datetime.date(2024, 3, 1)


def _day(number: int) -> datetime.date:
    return MARCH + datetime.timedelta(days=number - 1)


def _play(kept: Library, number: int, *passes: tuple[int, bool], every_s: float = 1.0) -> None:
    """Passes of one day: semitones above C, and whether it is clean. every_s: a bar."""
    rows = []
    for i, (up, clean) in enumerate(passes):
        rows += played(
            *(TWO_FIVE if clean else WRONG),
            start_s=0.5 + 12.0 * every_s * i,
            every_s=every_s,
            up=up,
        )
    take = take_of(rows, name=f"{number}.wav", sha256=f"{number:064d}")
    added = kept.add(take, played_on=_day(number).isoformat())
    kept.keep_passes(added.id, TARGET)


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Library]:
    """An empty library."""
    with Library(tmp_path / "kept.db") as library:
        yield library


# day of March, clean?, then when it is due: written out by hand from 1, 2, 4, 8, 16
BY_HAND = (
    (1, True, 2), (2, True, 4), (3, True, 4), (4, True, 8), (8, False, 9), (9, True, 10),
    (10, True, 12), (12, True, 16), (16, True, 24), (20, True, 24), (24, True, 40),
)  # fmt: skip


def test_a_month_of_one_key_counted_by_hand(kept: Library) -> None:
    """Growing, early clean passes that change nothing, a miss that falls back to tomorrow."""
    for number, clean, due in BY_HAND:
        _play(kept, number, (0, clean))
        (one,) = due_dates(kept.store, _day(number))
        assert (one.target, one.key) == ("study", 0)
        assert one.day == _day(due), number
        assert one.missed is not clean


def test_what_was_played_later_is_not_known_yet(kept: Library) -> None:
    """The schedule of a past day is that of what was known on it."""
    for number, clean, _ in BY_HAND:
        _play(kept, number, (0, clean))
    (one,) = due_dates(kept.store, _day(4))
    assert one.day == _day(8)
    assert due_dates(kept.store, _day(0)) == ()


def test_a_day_counts_by_its_last_pass(kept: Library) -> None:
    """A miss that is put right on the same day is no miss; a clean pass that is lost is one."""
    _play(kept, 1, (0, False), (0, True))
    (one,) = due_dates(kept.store, _day(1))
    assert (one.missed, one.day) == (False, _day(2))
    _play(kept, 2, (0, True), (0, False))
    (one,) = due_dates(kept.store, _day(2))
    assert (one.missed, one.day) == (True, _day(3))


def test_a_month_as_planned_day_by_day(kept: Library) -> None:
    """The player does each day's plan, all clean but each tenth; a count of its own beside it."""
    steps = (1, 2, 4, 8, 16)
    stage: dict[int, int] = {0: 0}
    due: dict[int, int] = {0: 2}
    _play(kept, 1, (0, True))
    turn = 0
    for number in range(2, 31):
        plan = make_plan(kept.store, [TARGET], _day(number), 120)
        keys = [one.key for one in plan.items]
        new = [key for key in keys if key not in due]
        assert len(new) <= 1
        assert sorted(set(keys) - set(new)) == sorted(k for k, day in due.items() if day <= number)
        assert keys[-1:] == new or not new
        passes = []
        for key in keys:
            turn += 1
            clean = turn % 10 != 0
            passes.append((key if key < 6 else key - 12, clean))
            stage[key] = min(stage.get(key, -1) + 1, 4) if clean else -1
            due[key] = number + (steps[stage[key]] if clean else 1)
        if passes:
            _play(kept, number, *passes)
    assert len(due) == 12  # a new key a day: all twelve are there within the month


def test_the_time_that_there_is_holds_the_plan(kept: Library) -> None:
    """What does not fit is counted, not lost; one thing is always there."""
    _play(kept, 1, *((up, True) for up in range(-5, 6)), every_s=4.0)
    short, long = (make_plan(kept.store, [TARGET], _day(9), minutes) for minutes in (5, 60))
    assert len(short.items) < len(long.items)
    assert short.minutes <= 5
    assert len(short.items) + short.left == len(long.items) + long.left
    with pytest.raises(Complaint, match="allowed are 5 to 120"):
        make_plan(kept.store, [TARGET], _day(9), 500)


def test_a_miss_goes_first_and_slower(kept: Library) -> None:
    """What did not land comes before what is only due; at four fifths of the usual tempo."""
    _play(kept, 1, (0, True), (5, False))
    plan = make_plan(kept.store, [TARGET], _day(9))
    assert [one.key for one in plan.items][:2] == [5, 0]
    assert plan.items[0].drill.tempo_bpm < plan.items[1].drill.tempo_bpm
    text, data = render(plan), to_data(plan)
    assert "it did not land last time" in text
    assert "Rest a minute" in text
    assert [one["key"] for one in data["items"]][:2] == ["F", "C"]
    assert data["items"][2]["why"] == "a new key"


def test_nothing_due_names_what_comes(kept: Library) -> None:
    """All twelve played today: the next dates are named."""
    _play(kept, 1, *((up, True) for up in range(-6, 6)))
    text = render(make_plan(kept.store, [TARGET], _day(1)))
    assert "Nothing is due" in text
    assert "2024-03-02 study" in text


def test_progress_shows_when_each_key_is_due(kept: Library) -> None:
    """Played on the first of March, due on the second; a key that was never played has no date."""
    _play(kept, 1, (0, True))
    found = progress_on(kept.store, TARGET)
    assert due_text(found, 0) == "2024-03-02"
    assert due_text(found, 7) == "-"
    row = next(line for line in render_progress(found).splitlines() if line.startswith("C "))
    assert row.split()[-2:] == ["2024-03-01", "2024-03-02"]
