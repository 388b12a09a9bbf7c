"""Which rows are believed: good ones for themselves, fair ones in company, loose ones never."""

from dataclasses import replace

import numpy as np
import pytest

from stackline.practice.finding.gestures import Gesture
from stackline.practice.finding.likeness import likeness
from stackline.practice.finding.pass_records import Arrival, Pass
from stackline.practice.finding.plausible import explained, is_practice, plausible
from stackline.practice.targets.target_text import parse_target
from tests.support.takes.practice_scenes import gestures_of

TARGET = parse_target("G7 | Cmaj7")
V, I = (53, 59, 64, 69), (48, 52, 55, 59)  # noqa: E741
WRONG_V = (53, 60, 64, 69)  # C for the B
OTHER = (61, 66, 70, 73)  # an F# triad: neither chord


def scene(
    *rows: tuple[float, tuple[int, ...]],
) -> tuple[tuple[Gesture, ...], np.ndarray]:
    """Gestures and their likeness."""
    played = gestures_of(rows, length_s=0.3)
    return played, likeness(played, TARGET)


def whole(played: tuple[Gesture, ...], *at: int, key: int = 0) -> Pass:
    """A row whose chords are the gestures at these places."""
    arrivals = tuple(Arrival(chord=j, main=played[i]) for j, i in enumerate(at))
    return Pass(key=key, arrivals=arrivals, finished=len(at) == 2)


def test_a_good_row_is_believed_alone_in_a_long_take() -> None:
    """V and I as the symbols say, among twenty other chords."""
    others = [(10.0 + i, OTHER) for i in range(20)]
    played, like = scene((0.5, V), (1.5, I), *others)
    row = whole(played, 0, 1)
    assert plausible([row], played, like, TARGET) == [row]


def test_a_fair_row_is_believed_where_it_is_the_take() -> None:
    """A wrong V and its I, and nothing else; among other chords the same is no pass."""
    played, like = scene((0.5, WRONG_V), (1.5, I))
    row = whole(played, 0, 1)
    assert plausible([row], played, like, TARGET) == [row]
    others = [(10.0 + i, OTHER) for i in range(20)]
    played, like = scene((0.5, WRONG_V), (1.5, I), *others)
    row = whole(played, 0, 1)
    assert plausible([row], played, like, TARGET) == []


@pytest.mark.parametrize(("pace_s", "believed"), [(1.0, True), (1.6, True), (4.0, False)])
def test_company_is_two_good_rows_near_by_at_about_the_same_pace(
    pace_s: float, believed: bool
) -> None:
    """Two good passes at a chord a second, a fair one at another pace, and other chords."""
    others = [(40.0 + i, OTHER) for i in range(10)]
    fair = [(20.0, WRONG_V), (20.0 + pace_s, I)]
    played, like = scene((0.5, V), (1.5, I), (5.5, V), (6.5, I), *fair, *others)
    rows = [whole(played, 0, 1), whole(played, 2, 3), whole(played, 4, 5)]
    assert (rows[2] in plausible(rows, played, like, TARGET)) is believed
    alone = [rows[0], rows[2]]
    assert rows[2] not in plausible(alone, played, like, TARGET)


def test_chords_in_between_that_are_none_of_the_rows_speak_against_it() -> None:
    """V, three strange chords, I: no pass, though both its chords are there."""
    strange = [(1.0 + 0.3 * i, OTHER) for i in range(3)]
    others = [(10.0 + i, OTHER) for i in range(20)]
    played, like = scene((0.5, V), *strange, (2.5, I), *others)
    arrivals = (
        Arrival(chord=0, main=played[0], later=played[1:4]),
        Arrival(chord=1, main=played[4]),
    )
    row = Pass(key=0, arrivals=arrivals, finished=True)
    assert plausible([row], played, like, TARGET) == []


def test_a_false_start_needs_a_pass_in_its_key_behind_it() -> None:
    """A lone V of C before a pass in C is one; before a pass in Eb, among other chords, none."""
    others = [(20.0 + i, OTHER) for i in range(10)]
    played, like = scene((0.5, V), (4.0, V), (5.0, I), *others)
    start, row = whole(played, 0), whole(played, 1, 2)
    assert plausible([start, row], played, like, TARGET) == [start, row]
    up = [tuple(p + 3 for p in chord) for chord in (V, I)]
    played, like = scene((0.5, V), (4.0, up[0]), (5.0, up[1]), *others)
    start, row = whole(played, 0), whole(played, 1, 2, key=3)
    assert plausible([start, row], played, like, TARGET) == [row]


def test_how_much_of_a_take_is_explained() -> None:
    """Two chords of four are in a whole row, struck again or wrong; one note alone is no chord."""
    played, like = scene((0.5, V), (1.5, I), (5.0, OTHER), (6.0, OTHER), (7.0, (60,)))
    assert explained([whole(played, 0, 1)], played, like) == pytest.approx(0.5)
    assert explained([], played, like) == 0.0
    assert explained([whole(played, 0)], played, like) == 0.0  # a false start explains nothing
    lone, alone = scene((0.5, (60,)))
    assert explained([], lone, alone) == 1.0
    again, liked = scene((0.5, WRONG_V), (1.0, WRONG_V), (1.5, I), (2.0, OTHER))
    row = whole(again, 0, 2)
    held = replace(row, arrivals=(replace(row.arrivals[0], later=again[1:2]), row.arrivals[1]))
    assert explained([held], again, liked) == pytest.approx(0.75)


def test_practice_goes_at_about_one_pace() -> None:
    """Six passes at one pace are practice; at six paces the same chords are chance."""
    for waits, is_one in (((1.0,) * 6, True), ((0.2, 0.5, 1.2, 3.0, 7.0, 16.0), False)):
        rows: list[tuple[float, tuple[int, ...]]] = []
        at = 0.5
        for wait in waits:
            rows += [(at, V), (at + wait, I)]
            at += 2 * wait
        played, like = scene(*rows)
        found = [whole(played, 2 * i, 2 * i + 1) for i in range(6)]
        assert is_practice(found, played, like, TARGET) is is_one
