"""Progress through the keys: the table, the weeks, what is avoided, what next; the pages."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from stackline.practice.library.library import Library
from stackline.practice.progress.advice import advise, avoided_keys
from stackline.practice.progress.habits import habits, in_words
from stackline.practice.progress.progress_page import render as render_progress
from stackline.practice.progress.progress_text import progress_on, render, to_data
from stackline.practice.progress.twelve_keys import twelve_keys
from stackline.practice.progress.weeks import compared, weeks
from stackline.practice.review.reviewing import review
from stackline.practice.targets.target_text import parse_target
from stackline.practice.written.key_pictures import picture
from stackline.practice.written.review_page import render as render_review
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of

II, V, I = TWO_FIVE  # noqa: E741
WRONG_I = (52, 56, 57, 62)  # the b9 stays: Ab in C6/9
TARGET = parse_target(TARGET_TEXT, name="study <i>")


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    """An empty library."""
    with Library(tmp_path / "library.db") as kept:
        yield kept


def keep(
    library: Library, date: str, keys: Sequence[tuple[int, bool]], *, every_s: float = 1.0
) -> None:
    """A take of one day: passes in keys, clean or with the b9 left hanging."""
    rows = []
    for i, (key, clean) in enumerate(keys):
        start = 0.5 + 6 * every_s * i
        voicings = (II, V, I if clean else WRONG_I)
        rows += played(*voicings, start_s=start, every_s=every_s, up=key)
    number = len(library.entries()) + 1
    take = take_of(rows, name=f"day-{date}.wav", sha256=f"{number:064x}")
    added = library.add(take, played_on=date)
    library.keep_passes(added.id, TARGET)


def test_the_table_counts_every_key(library: Library) -> None:
    """Passes, clean ones, resolutions, tempo and last date, key by key."""
    keep(library, "2026-01-05", [(0, True), (0, False), (5, True)])
    keep(library, "2026-01-12", [(0, True), (5, True)], every_s=0.8)
    keys = {one.key_name: one for one in twelve_keys(library.store, TARGET.name)}
    assert len(keys) == 12
    c, f = keys["C"], keys["F"]
    assert (c.passes, c.clean, c.landed, c.due) == (3, 2, 11, 12)
    assert (c.verdict, c.last_played) == ("coming", "2026-01-12")
    assert (f.passes, f.clean, f.verdict) == (2, 2, "coming")
    assert f.best_bpm == pytest.approx(300, rel=0.01)
    assert keys["G"].verdict == "not played"
    assert keys["G"].landed_rate is None


def test_solid_needs_the_last_three_clean_on_two_days(library: Library) -> None:
    """Order is by date, whatever the order of adding."""

    def c() -> str:
        return twelve_keys(library.store, TARGET.name)[0].verdict

    keep(library, "2026-01-12", [(0, True), (0, True), (0, True)])
    assert c() == "coming"  # one day
    keep(library, "2026-01-05", [(0, False)])
    assert c() == "coming"
    keep(library, "2026-01-13", [(0, True)])
    assert c() == "solid"
    keep(library, "2026-01-19", [(0, False)])
    assert c() == "coming"
    keep(library, "2026-01-20", [(0, True), (0, True)])
    assert c() == "coming"
    keep(library, "2026-01-21", [(0, True)])
    assert c() == "solid"


def test_weeks_begin_on_monday_and_none_is_left_out(library: Library) -> None:
    """2026-01-05 is a Monday (ISO 8601 calendar); the week of the 12th is empty."""
    keep(library, "2026-01-05", [(0, True), (5, False)])
    keep(library, "2026-01-11", [(0, True)])
    keep(library, "2026-01-21", [(0, True), (5, True)])
    line = weeks(library.store, TARGET.name)
    assert [week.monday for week in line] == ["2026-01-05", "2026-01-12", "2026-01-19"]
    assert [(week.passes, week.clean, week.keys) for week in line] == [
        (3, 2, 2),
        (0, 0, 0),
        (2, 2, 2),
    ]
    assert "clean passes 67% to 100%" in compared(line)
    assert weeks(library.store, "never played") == ()


def test_what_is_avoided_is_said_with_its_reason(library: Library) -> None:
    """Never, rarely, and not for long."""
    keep(library, "2026-01-05", [(key, True) for key in range(10)])
    keep(library, "2026-02-09", [(key, True) for key in range(9)])
    found = {one.key_name: one.why for one in avoided_keys(twelve_keys(library.store, TARGET.name))}
    assert found == {"Bb": "never played", "B": "never played", "A": "not since 2026-01-05"}


def test_advice_goes_from_wrong_to_new_to_faster(library: Library) -> None:
    """A key that goes wrong first, then a new key, then the tempo."""
    keep(library, "2026-01-05", [(0, False), (5, True)])

    def advice() -> tuple[str, str]:
        found = advise(library.store, TARGET, twelve_keys(library.store, TARGET.name))
        return found.next, found.why

    next_, why = advice()
    assert next_ == ("Play C slowly, at 180 beats a minute, until three passes in a row are clean.")
    assert "the b9 of V13(b9) did not land on the 5" in why
    keep(library, "2026-01-06", [(0, True), (0, True)])
    assert advice()[0] == "Take it to Bb, the next round the circle."
    keep(library, "2026-01-07", [(key, True) for key in range(12)])
    assert advice()[0].startswith("Play Bb until three passes in a row are clean, at 240")
    keep(library, "2026-01-08", [(key, True) for key in range(12) for _ in range(2)])
    next_, why = advice()
    assert next_ == "Play all twelve keys at 252 beats a minute."
    assert "the slowest so far was 240" in why


def test_habits_count_tensions_and_kinds(library: Library) -> None:
    """Every dominant of the study has a b9 and a 13, none a #11; fifty are enough to say so."""
    assert in_words(habits(library.store)) == ""
    keep(library, "2026-01-05", [(key, True) for key in range(12)])
    few = habits(library.store)
    assert (few.dominants, dict(few.tensions)["b9"], few.avoided) == (12, 12, ())
    for day in range(6, 10):
        keep(library, f"2026-01-{day:02d}", [(key, True) for key in range(12)])
    many = habits(library.store)
    assert many.avoided == ("9", "#9", "#11", "b13")
    assert sum(count for _, count in many.structures) >= 180
    assert "Hardly ever over a dominant: 9, #9, #11, b13." in in_words(many)


def test_text_and_data_say_the_same(library: Library) -> None:
    """The table's words and the JSON's numbers."""
    keep(library, "2026-01-05", [(0, True), (5, False)])
    progress = progress_on(library.store, TARGET)
    told = to_data([progress], habits(library.store))
    text, data = render(progress), told["targets"][0]
    assert told["habits"]["tensions"]["b9"] == 2
    assert "C    coming" in text
    assert "F    not yet" in text
    assert data["keys"][0]["clean"] == 1
    assert data["weeks"][0]["passes"] == 2
    assert data["next"] in text


class _Tags(HTMLParser):
    """Counts tags, and checks that what is opened is closed."""

    VOID = frozenset({"meta", "br", "input"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []

    def handle_startendtag(self, tag: str, attrs: object) -> None:
        self.seen.append(tag)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.seen.append(tag)
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def parsed(page: str) -> _Tags:
    """A page, parsed; all its tags are closed."""
    tags = _Tags()
    tags.feed(page)
    assert tags.open == []
    return tags


def test_the_review_page_escapes_and_draws(library: Library) -> None:
    """Names from outside are escaped, flats are real, faulty passes have keyboards."""
    take = take_of(played(II, V, WRONG_I, up=3), name='<script>"x"</script>.wav')
    page = render_review(review(take, TARGET))
    tags = parsed(page)
    assert tags.seen.count("script") == 3  # the piano, the sounds, the player: none from outside
    assert "&lt;script&gt;" in page
    assert "study &lt;i&gt;" in page
    assert "V13(\u266d9)" in page
    assert tags.seen.count("figure") == 3
    assert "http" not in page.replace("http-equiv", "")


def test_the_review_page_without_passes_is_a_page() -> None:
    """Nothing found is said, not an error."""
    take = take_of([(0.5, (60, 64, 67))])
    page = render_review(review(take, TARGET))
    parsed(page)
    assert "No whole pass" in page


def test_the_progress_page_shows_every_target(library: Library) -> None:
    """One section a target; the weeks are drawn."""
    keep(library, "2026-01-05", [(0, True), (5, False)])
    progress = progress_on(library.store, TARGET)
    other = replace(progress, target=replace(TARGET, name="another"), line=())
    tags = parsed(render_progress([progress, other], habits(library.store)))
    assert tags.seen.count("section") == 3
    assert tags.seen.count("svg") == 1


def test_a_picture_marks_what_was_meant_and_what_was_not() -> None:
    """Middle C and E meant, C and F played: C right, F wrong, E lost."""
    found = picture((60, 65), (60, 64))
    assert [dot.kind for dot in found.dots] == ["right", "wrong", "lost"]
    assert found.width == 70
    assert (len(found.whites), len(found.blacks)) == (7, 5)
    assert [dot.x for dot in found.dots] == [5, 35, 25]
