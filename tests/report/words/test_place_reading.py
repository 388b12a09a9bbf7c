"""A place is read in each of its spellings, and what reports print is read back."""

from fractions import Fraction

import pytest

from fixtures.played.lines.line_takes import as_heard
from fixtures.played.takes import LISTED, make_take
from stackline import read_notes
from stackline.report.words.place_reading import read_place, seconds_of
from stackline.report.words.places import Places
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Beat, BeatGrid
from stackline.shared.take import Take
from stackline.shared.units import clock


@pytest.fixture(scope="module")
def take() -> Take:
    """A made take with the beats that it was made by."""
    made = make_take(41, LISTED, duration_s=30.0)
    beats = tuple(Beat(time_s=at, number=i % 4 + 1) for i, at in enumerate(made.beats_s))
    grid = BeatGrid(beats=beats, tempo_bpm=made.tempo_bpm, source="heard", confidence=0.9)
    return read_notes(as_heard(made), beats=grid)


@pytest.mark.parametrize(
    ("typed", "bar", "beat"),
    [
        ("bar 5, beat 3", 5, 3), ("Bar 5 beat 3", 5, 3), ("5.3", 5, 3), ("bar 5", 5, 1),
        ("5.3&", 5, Fraction(7, 2)), ("bar 2, beat 4a", 2, Fraction(19, 4)),
        ("5.3+1/3", 5, Fraction(10, 3)),
    ],
)  # fmt: skip
def test_bars_and_beats(typed: str, bar: int, beat: Fraction) -> None:
    """Long and short, with the counting syllables of the reports."""
    place = read_place(typed)
    assert (place.bar, place.beat) == (bar, beat)


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [("0:27.2", 27.2), ("1:04.3", 64.3), ("27.2 s", 27.2), ("27.2s", 27.2), ("27", 27.0)],
)
def test_clock_and_seconds(typed: str, seconds: float, take: Take) -> None:
    """They mean the same in any take."""
    assert seconds_of(read_place(typed), take) == pytest.approx(seconds)


@pytest.mark.parametrize("typed", ["", "soon", "bar", "5.3x", "0:75", "-3", "bar 5, beat", "1e9"])
def test_anything_else_is_refused(typed: str) -> None:
    """With how to write it."""
    with pytest.raises(Complaint, match="write"):
        read_place(typed)


def test_what_reports_print_is_read_back(take: Take) -> None:
    """Every attack's place, long, short and by the clock, leads back to the attack."""
    places = Places(take)
    assert len(take.attacks) > 20
    for attack in take.attacks:
        for printed in (places.short(attack), places.words(attack).removeprefix("at ")):
            assert seconds_of(read_place(printed), take) == pytest.approx(attack.onset_s, abs=0.05)
        by_clock = seconds_of(read_place(clock(attack.onset_s)), take)
        assert by_clock == pytest.approx(attack.onset_s, abs=0.051)


def test_a_place_where_nothing_is_struck_lies_between_the_beats(take: Take) -> None:
    """Half of the way to the next beat; beyond the take there is none."""
    struck = {(a.position.bar, a.position.beat) for a in take.attacks if a.position}
    bars = take.grid.bars()
    at = next(
        i for i in range(1, len(bars) - 1)
        if not {(bars[i], take.grid.beats[i].number + part)
                for part in (Fraction(1, 2), Fraction(2, 3))} & struck
    )  # fmt: skip
    one, two = take.grid.beats[at], take.grid.beats[at + 1]
    found = seconds_of(read_place(f"{bars[at]}.{one.number}&"), take)
    assert found == pytest.approx((one.time_s + two.time_s) / 2)
    with pytest.raises(Complaint, match="the take has no bar 900, beat 1"):
        seconds_of(read_place("900.1"), take)


def test_without_bars_a_number_is_seconds() -> None:
    """And a bar is refused."""
    free = read_notes(as_heard(make_take(42, LISTED, duration_s=8.0)), beats=BeatGrid())
    assert seconds_of(read_place("5.3"), free) == pytest.approx(5.3)
    with pytest.raises(Complaint, match="no bars were found"):
        seconds_of(read_place("bar 2"), free)
