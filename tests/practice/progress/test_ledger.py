"""The ledger: forty made takes, counted again by a count of its own."""

import datetime
import random
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from fixtures.forms.progressions import generated, voiced
from stackline.practice.library.library import Library
from stackline.practice.library.schema import STEPS
from stackline.practice.progress.ledger import Asked, ledger, read_since
from stackline.practice.progress.ledger_text import render, to_data
from stackline.practice.progress.quality_habits import quality_habits
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from tests.support.older_library import take_back
from tests.support.takes.practice_scenes import played, take_of

TAKES = 40


def _take(number: int) -> Take:
    """Comping over made progressions, sure notes, two seconds a chord."""
    rng = random.Random(500 + number)
    chords = voiced(generated(rng, phrases=2), rng)[:10]
    rows = played(*(tuple(one.pitches) for one in chords), every_s=2.0)
    return take_of(rows, name=f"{number}.wav", sha256=f"{number:064d}", sure=0.999)


@pytest.fixture(scope="module")
def takes() -> list[Take]:
    """Forty takes."""
    return [_take(number) for number in range(TAKES)]


@pytest.fixture(scope="module")
def kept(takes: list[Take], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    """All of them in a library, a day each from the first of March on."""
    with Library(tmp_path_factory.mktemp("kept") / "kept.db") as library:
        for i, take in enumerate(takes):
            day = datetime.date(2024, 3, 1) + datetime.timedelta(days=i)
            library.add(take, played_on=day.isoformat())
        yield library


def _pc(root: str) -> int:
    letters = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    return (letters[root[0]] + root.count("#") - root.count("b")) % 12


def _counted(takes: list[Take]) -> tuple[Counter[tuple[str, int]], Counter[tuple[str, int]], int]:
    """Due, landed and unsure: straight from the takes' motions."""
    due: Counter[tuple[str, int]] = Counter()
    arrived: Counter[tuple[str, int]] = Counter()
    unsure = 0
    for take in takes:
        for motion in take.motions:
            pair = take.voicings[motion.from_index], take.voicings[motion.to_index]
            roots = [_pc(one.chord.symbol.root) for one in pair]
            home = roots[1] if roots[0] != roots[1] else (roots[0] + 5) % 12
            doubt = any(one.confidence < 0.9 or one.chord.confidence < 0.9 for one in pair)
            for one in motion.resolutions:
                if doubt:
                    unsure += 1
                    continue
                due[str(one.degree), home] += 1
                if one.outcome not in ("held", "not landed"):
                    arrived[str(one.degree), home] += 1
    return due, arrived, unsure


def test_the_ledger_equals_a_count_of_its_own(takes: list[Take], kept: Library) -> None:
    """Every cell, the unsure ones apart, and as many misses as did not land."""
    due, arrived, unsure = _counted(takes)
    found = ledger(kept.store, Asked())
    assert sum(due.values()) > 100
    assert {(one.degree, one.key): one.due for one in found.cells} == dict(due)
    assert {(one.degree, one.key): one.landed for one in found.cells if one.landed} == dict(arrived)
    assert found.unsure == unsure
    assert len(found.misses) == sum(due.values()) - sum(arrived.values())


def test_top_and_inner_voices_make_up_a_cell(takes: list[Take], kept: Library) -> None:
    """The top voice is the highest note that was struck."""
    top = sum(
        one.midi == take.voicings[motion.from_index].pitches[-1]
        for take in takes
        for motion in take.motions
        for one in motion.resolutions
        if all(
            take.voicings[i].confidence >= 0.9 and take.voicings[i].chord.confidence >= 0.9
            for i in (motion.from_index, motion.to_index)
        )
    )
    assert sum(one.due_top for one in ledger(kept.store, Asked()).cells) == top > 0


def test_filters_leave_what_they_name(kept: Library) -> None:
    """By degree, by key, by date; together they add up to the whole."""
    whole = ledger(kept.store, Asked())
    by_key = [ledger(kept.store, Asked(key=key)) for key in range(12)]
    assert sum(one.due for found in by_key for one in found.cells) == sum(
        one.due for one in whole.cells
    )
    ninths = ledger(kept.store, Asked(degree="b9"))
    assert {one.degree for one in ninths.cells} <= {"b9"}
    later = ledger(kept.store, Asked(since="2024-03-21"))
    assert {one.played_on for one in later.misses} <= {
        (datetime.date(2024, 3, 21) + datetime.timedelta(days=i)).isoformat() for i in range(40)
    }
    assert 0 < sum(one.due for one in later.cells) < sum(one.due for one in whole.cells)


def test_a_b9_that_stays_up_is_a_miss_and_says_what_came() -> None:
    """G13(b9) to C: Ab is due to G (ii-V-I voice leading, common practice); here it goes to A."""
    rows = played((53, 57, 60, 64), (53, 56, 59, 64), (52, 57, 59, 62), every_s=2.0)
    take = take_of(rows, sure=0.999)
    outcomes = {str(one.degree): one for one in take.motions[1].resolutions}
    assert outcomes["b9"].outcome == "not landed"
    assert str(outcomes["b9"].to) in ("6", "13")


def test_habits_are_told_from_twenty_cases_on(takes: list[Take], kept: Library) -> None:
    """Counts of sure voicings by quality, straight from the takes."""
    counts = Counter(
        one.chord.symbol.quality
        for take in takes
        for one in take.voicings
        if min(one.confidence, one.chord.confidence) >= 0.9
    )
    found = quality_habits(kept.store)
    assert {one.quality: one.cases for one in found} == {
        key: count for key, count in counts.items() if count >= 20
    }
    for one in found:
        assert sum(count for _, count in one.tops) == one.cases
        assert one.lowest < one.highest


def test_text_and_data_say_the_same(kept: Library) -> None:
    """The table's cells are the data's."""
    found = ledger(kept.store, Asked())
    text, data = render(found, (), misses=True), to_data(found, ())
    first = data["cells"][0]
    assert f"{first['landed']}/{first['due']}" in text
    assert len(data["misses"]) == len(found.misses)
    assert "Nothing that was due" in render(ledger(kept.store, Asked(since="2999-01-01")), (),
                                            misses=False)  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "date"),
    [(None, ""), ("30d", "2024-03-01"), ("2w", "2024-03-17"), ("1m", "2024-03-01"),
     ("2024-02-03", "2024-02-03")],
)  # fmt: skip
def test_since_is_a_span_or_a_date(typed: str | None, date: str) -> None:
    """Counted back from the last of March."""
    assert read_since(typed, datetime.date(2024, 3, 31)) == date


def test_another_since_is_refused() -> None:
    """With what may be typed."""
    with pytest.raises(Complaint, match="30d, 6w, 3m"):
        read_since("lately", datetime.date(2024, 3, 31))


def test_a_library_of_an_earlier_version_is_brought_up(takes: list[Take], tmp_path: Path) -> None:
    """Tables of step 2, whose takes have no resolutions yet: the same ledger after."""
    path = tmp_path / "old.db"
    with Library(path) as kept:
        kept.add(takes[0])
        wanted = ledger(kept.store, Asked())
    take_back(path, 2)
    with Library(path) as kept:
        assert kept.store.version == len(STEPS)
        assert ledger(kept.store, Asked()).cells == ()
        assert kept.bring_up() == 1
        assert ledger(kept.store, Asked()) == wanted
        assert kept.bring_up() == 0
