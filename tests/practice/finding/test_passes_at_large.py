"""Passes over many made takes: found in their keys, none invented, false starts kept apart.

Takes of written stacks with planted faults (`practised`), and of symbols in the ways of the trade
(`symbol_takes`); seeds and ways are not those that figures are quoted for.
"""

from collections.abc import Iterable
from functools import cache

import pytest

from bench.practising.check_symbols import Counted, review_notes, score_free, score_ways
from fixtures.played.practised import PractisedTake, make_practised
from fixtures.played.symbol_takes import make_ways
from stackline.practice.review.review_records import Review
from tests.support.rates import value

NEAR_S = 0.25


@cache
def practised() -> tuple[tuple[PractisedTake, Review], ...]:
    """Forty takes of written stacks and their reviews."""
    made = [make_practised(seed) for seed in range(700, 740)]
    return tuple((one, review_notes(one.take, one.target)) for one in made)


def pairs(whole: bool) -> tuple[list[tuple[str, int, float]], list[tuple[str, int, float]]]:
    """(take, key, start) of what was played and of what was found; whole or broken off."""
    played = [
        (made.take.name, one.key, one.start_s)
        for made, _ in practised() for one in made.passes if one.finished is whole
    ]  # fmt: skip
    found = [
        (made.take.name, one.key, one.start_s)
        for made, review in practised()
        for one in (review.passes if whole else review.false_starts)
    ]
    return played, found


def missing(
    some: Iterable[tuple[str, int, float]], others: list[tuple[str, int, float]]
) -> list[tuple[str, int, float]]:
    """What is in one list and not, within a quarter of a second, in the other."""
    return [
        (name, key, at) for name, key, at in some
        if not any(n == name and k == key and abs(s - at) < NEAR_S for n, k, s in others)
    ]  # fmt: skip


def test_passes_of_written_stacks_are_found_and_none_invented() -> None:
    """Nearly three hundred passes, three of five with a fault: one in eighty may be lost."""
    played, found = pairs(whole=True)
    assert len(played) > 250
    assert len(missing(played, found)) <= len(played) / 80
    assert len(missing(found, played)) <= len(played) / 80


def test_false_starts_are_found_where_they_were_and_nowhere_else() -> None:
    """At most one in twenty is missed, and one in twenty told that was none."""
    played, found = pairs(whole=False)
    assert len(played) >= 15
    assert len(missing(played, found)) <= len(played) / 20
    assert len(missing(found, played)) <= len(played) / 20


def test_each_chord_is_found_when_it_came() -> None:
    """In a pass without a fault chords arrive on their beats, within human timing."""
    for made, review in practised():
        beat_s = 60.0 / made.take.tempo_bpm
        for true in made.passes:
            one = next((p for p in review.passes if abs(p.start_s - true.start_s) < NEAR_S), None)
            if one is None or true.fault is not None or not true.finished:
                continue
            due = true.start_s
            for voicing, beats in zip(one.voicings, made.target.beats, strict=True):
                assert voicing.onset_s == pytest.approx(due, abs=0.12), made.take.name
                due += float(beats) * beat_s


@pytest.mark.parametrize(
    ("rhythm", "keys", "clean", "against"),
    [("held", 7, 0.98, 0.90), ("held", 1, 0.98, 0.70), ("comped", 7, 0.97, 0.85)],
)
def test_symbols_are_found_however_they_are_voiced(
    rhythm: str, keys: int, clean: float, against: float
) -> None:
    """Clean passes are clean; what contradicts is told; hardly anything is invented."""
    counted = Counted()
    for seed in range(4000, 4040):
        made = make_ways(seed, "train", keys=keys, rhythm=rhythm)  # type: ignore[arg-type]
        score_ways(made, review_notes(made.take, made.target), counted, timed=False)
    rates = counted.rates()
    assert value(rates, "clean passes told clean") >= clean
    assert value(rates, "contradictions found") >= against
    assert value(rates, "passes reported that were played") >= 0.93


def test_free_comping_holds_few_passes() -> None:
    """Forty seconds each against ten progressions: less than two a minute are invented."""
    counted = Counted()
    for seed in range(4500, 4503):
        score_free(seed, counted)
    assert counted.invented / counted.minutes < 2.0
