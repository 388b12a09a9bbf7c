"""One place in a take: other ways between the same neighbours."""

from stackline.practice.drills.drill import make_drill
from stackline.practice.drills.drill_take import as_take
from stackline.practice.targets.target_text import parse_target
from stackline.theory.ways.other_ways import ANOTHER_FAMILY, NEAREST, SAME_TOP, UNUSED, other_ways
from stackline.theory.ways.reach import LOW, Reach

TEXT = "IIm9: b3 5 b7 9 > V13: b7 9 3 13 > Imaj9: 3 5 7 9"
TAKE = as_take(make_drill(parse_target(TEXT), [0]), version="test")


def test_four_ways_each_of_its_kind_and_none_twice() -> None:
    """Four ways each of its kind and none twice."""
    used = {("3", "13", "b7", "9")}
    ways = other_ways(TAKE.voicings, 1, Reach(), used=used)
    here = TAKE.voicings[1]
    by_reason = {way.why: way.voicing for way in ways}
    assert set(by_reason) == {SAME_TOP, NEAREST, ANOTHER_FAMILY, UNUSED}
    assert by_reason[SAME_TOP].pitches[-1] == here.pitches[-1]
    assert by_reason[ANOTHER_FAMILY].structures[0] != here.structures[0]
    assert tuple(map(str, by_reason[UNUSED].stack)) not in used
    pitches = [here.pitches, *(way.voicing.pitches for way in ways)]
    assert len(set(pitches)) == len(pitches)


def test_each_way_says_how_it_leads_in_and_on() -> None:
    """Each way says how it leads in and on."""
    for way in other_ways(TAKE.voicings, 1, Reach()):
        assert len(way.motions) == 2
        landed = {str(one.degree) for one in way.motions[1].resolutions}
        assert "b7" in landed  # a dominant before its I: the b7 is due to move (common practice)
    (first, *_) = other_ways(TAKE.voicings, 0, Reach())
    assert len(first.motions) == 1


def test_without_a_library_nothing_is_said_of_what_is_used() -> None:
    """Without a library nothing is said of what is used."""
    assert UNUSED not in {way.why for way in other_ways(TAKE.voicings, 1, Reach())}


def test_a_neighbour_off_the_keys_for_comping_has_no_say() -> None:
    """A neighbour off the keys for comping has no say."""
    low = TAKE.voicings[0].pitches[0]
    assert low >= LOW
    assert other_ways(TAKE.voicings[1:2], 0, Reach(hands="left"))
