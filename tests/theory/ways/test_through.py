"""The nearest way: no random choice of the same voicings moves less."""

import random

import pytest

from bench.practising.ways import best_random, faults, progressions, travelled
from stackline.practice.targets.target_text import parse_target
from stackline.theory.ways.reach import Reach
from stackline.theory.ways.through import Wanted, ways_through

TEXTS = progressions(4, seed=7)


def _wanted(text: str, key: int = 0) -> list[Wanted]:
    return [
        Wanted(root_pc=one.root_pc(key), quality=one.quality) for one in parse_target(text).chords
    ]


@pytest.mark.parametrize("text", TEXTS)
def test_ways_through_real_changes_are_right_near_and_all_different(text: str) -> None:
    """Changes of real tunes (Weimar Jazz Database, ODbL), counted by the bench's own pen."""
    rng, reach = random.Random(1), Reach()
    wanted = _wanted(text, key=5)
    ways = ways_through(wanted, reach)
    assert len(ways) > 5
    assert len({tuple(one.pitches for one in way.chosen) for way in ways}) == len(ways)
    for way in ways:
        assert faults(way, wanted, reach) == []
    for way in ways[:2]:
        assert way.moved == pytest.approx(travelled(tuple(c.pitches for c in way.chosen)), abs=1e-4)
        assert way.moved <= best_random(way, wanted, reach, rng) + 1e-4


def test_a_melody_stays_on_top() -> None:
    """A melody stays on top."""
    wanted = [
        Wanted(root_pc=2, quality="m7", top="9"),
        Wanted(root_pc=7, quality="7", top="b9"),
        Wanted(root_pc=0, quality="maj7", top="5"),
    ]
    ways = ways_through(wanted, Reach())
    assert ways
    for way in ways:
        assert [one.build.degrees[-1] for one in way.chosen] == ["9", "b9", "5"]


def test_what_cannot_be_voiced_gives_nothing() -> None:
    """No chord with a b9 in it is a Dm9."""
    assert ways_through([Wanted(root_pc=2, quality="m9", top="b9")], Reach()) == ()


def test_all_keys_are_voiced_alike() -> None:
    """The same stacks in C and, a semitone up, in Db, as long as nothing meets the keys' ends."""
    here, there = (ways_through(_wanted("Dm9 | G13 | Cmaj9", key), Reach()) for key in (0, 1))
    first = next(way for way in here if way.family == "rootless")
    second = next(way for way in there if way.family == "rootless")
    assert [one.build.degrees for one in first.chosen] == [
        one.build.degrees for one in second.chosen
    ]
