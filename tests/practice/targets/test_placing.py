"""Where a target lies on the keys: in its register, clear, in reach, near the key before."""

from itertools import pairwise

import pytest

from stackline.practice.targets.placing import Register, best_places, cautions, place_keys
from stackline.practice.targets.target_text import parse_target
from stackline.shared.complaint import Complaint
from tests.support.takes.practice_scenes import TARGET_TEXT

STUDY = parse_target(TARGET_TEXT)
TENTHS = parse_target("IIm7: R b7 b3 > V7: R b7 3 > Imaj7: R 7 3")
FOURTHS = tuple(5 * i % 12 for i in range(12))


def every(rows: tuple[tuple[int, ...], ...]) -> list[int]:
    """All pitches of a placed target."""
    return [pitch for row in rows for pitch in row]


@pytest.mark.parametrize("key", range(12))
def test_a_left_hand_voicing_lies_around_the_a_below_middle_c(key: int) -> None:
    """Four notes for one hand: above A2, around A3, higher where low would be muddy."""
    pitches = every(best_places(STUDY, key).pitches)
    assert min(pitches) >= 45
    assert abs(sum(pitches) / len(pitches) - 57.5) <= 9.5
    assert [p % 12 for p in best_places(STUDY, key).pitches[0]] == [
        (p + key) % 12 for p in (5, 9, 0, 4)
    ]  # fmt: skip


@pytest.mark.parametrize(("low", "high"), [(60, 84), (47, 72), (36, 61)])
def test_a_register_is_kept_where_it_can_be(low: int, high: int) -> None:
    """Two octaves hold the study in every key, wherever they lie."""
    for placed in place_keys(STUDY, FOURTHS, Register(low=low, high=high, kept=True)):
        assert low <= min(every(placed.pitches))
        assert max(every(placed.pitches)) <= high


def test_a_register_that_cannot_be_kept_is_refused_with_the_nearest_that_can() -> None:
    """The study spans an octave (E to E in C); from C4 to B4 it does not fit, to E5 it does."""
    with pytest.raises(Complaint, match="--low C4 --high E5") as told:
        best_places(STUDY, 0, Register(low=60, high=71, kept=True))
    assert "E4 to E5" in str(told.value)
    assert best_places(STUDY, 0, Register(low=52, high=71, kept=True)).pitches[0][0] == 53
    assert best_places(STUDY, 0, Register(low=60, high=71)).pitches  # the usual one only guides


def test_the_way_from_key_to_key_is_short() -> None:
    """Round the fourths no hand jumps by an octave: the first voicing is near the last one."""
    placed = place_keys(STUDY, FOURTHS)
    for before, after in pairwise(placed):
        assert abs(sum(before.pitches[-1]) - sum(after.pitches[0])) <= 4 * 8


def test_muddy_low_intervals_are_avoided() -> None:
    """Shells with a seventh at the bottom stay above F2 (low interval limits); none is told."""
    for placed in place_keys(TENTHS, FOURTHS):
        assert all("7th" not in words for words in placed.cautions) or placed.key in (1, 2)
        assert min(row[0] for row in placed.pitches) >= 39


def test_a_low_third_and_a_wide_hand_are_told() -> None:
    """C2 E2 rumbles; a tenth and a ninth in one hand are told with a caution, a seventh is not."""
    triad = parse_target("I: R 3 5 > IV: R 3 5")
    low = cautions(triad, 0, ((36, 40, 43), (41, 45, 48)))
    assert any("E2" in words and "C" in words for words in low)
    tenth = parse_target("Imaj7: R 7 3'")
    assert (
        cautions(tenth, 0, ((48, 59, 64),)) == ()
        or "spans" in cautions(tenth, 0, ((48, 59, 64),))[0]
    )
    close = parse_target("Imaj7: R 3 5 7")
    assert cautions(close, 0, ((48, 52, 55, 59),)) == ()


@pytest.mark.parametrize(
    ("stack", "words"),
    [
        ("R 5 3' 7' 5''", None),
        ("R 3' 5'", "tenth"),
        ("R b9'", "ninth"),
    ],
)
def test_hands_are_told_what_they_span(stack: str, words: str | None) -> None:
    """A tenth is rolled or thinned out, never forced."""
    target = parse_target(f"I7: {stack}")
    found = " ".join(best_places(target, 0).cautions)
    if words:
        assert words in found
    else:
        assert "tenth" not in found


def test_symbols_alone_cannot_be_placed() -> None:
    """Without stacks there is nothing to put on the keys."""
    with pytest.raises(Complaint, match="without a stack"):
        place_keys(parse_target("Dm7 | G7 | Cmaj7"), [0])


@pytest.mark.parametrize(("low", "high"), [(60, 60), (72, 48), (10, 60), (60, 120)])
def test_a_register_that_is_none_is_refused(low: int, high: int) -> None:
    """The lower key first, both on the piano."""
    with pytest.raises(Complaint, match="register"):
        Register(low=low, high=high)
