"""Hands, doublings and low limits."""

import json
from pathlib import Path

import pytest

from stackline.shared.harmony import Degree
from stackline.theory.stacks.doublings import doublings
from stackline.theory.stacks.hands import STRETCH, UNREACHABLE, split_hands
from stackline.theory.stacks.low_limits import LIMITS, low_warnings
from tests.support.takes.played import voicing

DATA = Path(__file__).parents[2] / "data/theory"


# Common practice: which hand takes what.
@pytest.mark.parametrize(
    ("pitches", "left"),
    [
        ((53, 57, 60, 64), 4),  # a rootless stack is one hand's
        ((50, 60, 65), 1),  # R, then 7 and 3 a tenth up
        ((38, 48, 53, 57, 64), 2),  # a spread: root and 7th below
        ((52, 57, 62, 69, 74, 79), 3),  # fourths, three and three
        ((53, 59, 64, 68, 71, 76), 3),  # upper structure over the guide tones
        ((48, 55, 64, 70), 2),  # drop 2&4
        ((48, 55, 62, 63, 70, 77), 3),  # fifths, three and three: R 5 9 | b3 b7 11
        ((48, 55, 62, 64, 71, 78), 3),  # and in major: R 5 9 | 3 7 #11
    ],
)
def test_common_voicings_fall_to_the_expected_hands(pitches: tuple[int, ...], left: int) -> None:
    """The left hand gets as many notes as a player would give it."""
    split = split_hands(pitches)
    assert split.left_count == left
    assert 0.0 < split.confidence <= 1.0


def test_no_hand_spans_more_than_sixteen_semitones() -> None:
    """Every split that is offered can be played; six notes over three octaves can."""
    pitches = (36, 43, 52, 64, 71, 76)
    split = split_hands(pitches)
    for hand in (pitches[: split.left_count], pitches[split.left_count :]):
        assert hand[-1] - hand[0] <= 16


def test_stretches_and_impossible_stacks_are_told() -> None:
    """More than a ninth in one hand is a stretch; eleven notes are two attacks or a pedal."""
    assert STRETCH in split_hands((38, 48, 54, 64, 72, 79)).warnings
    impossible = split_hands(tuple(range(40, 84, 4)))
    assert impossible.warnings == (UNREACHABLE,)
    assert impossible.confidence == 0.0


def test_warnings_of_hands_come_before_low_limits() -> None:
    """What the hands can't do is told first, then what lies low (our order)."""
    found = voicing("C7", (36, 40, 52, 64, 70, 74)).warnings
    assert found[0] == STRETCH
    assert all("low" in one for one in found[1:])
    assert len(found) >= 2


def test_doublings_are_facts() -> None:
    """In 3 b7 9 13 3 the 3 sounds twice, two octaves apart."""
    degrees = [Degree.parse(text) for text in ("3", "b7", "9", "13", "3")]
    (one,) = doublings((52, 58, 62, 69, 76), degrees)
    assert (str(one.degree), one.count, one.distance) == ("3", 2, 24)
    assert doublings((52, 58, 62), degrees[:3]) == ()


# sweetwater.com, "Low interval limit", converted to MIDI (C4 = 60).
@pytest.mark.parametrize(
    ("interval", "lowest"),
    [(1, 52), (2, 51), (3, 48), (4, 47), (5, 45), (6, 35), (7, 37), (8, 41), (11, 41)],
)
def test_low_limits_follow_the_table(interval: int, lowest: int) -> None:
    """At the limit nothing is said, a semitone lower there is a warning."""
    assert LIMITS[interval] == lowest
    names = ("low", "high")
    assert low_warnings((lowest, lowest + interval), names) == ()
    low = (lowest - 1, lowest - 1 + interval)
    (warning,) = low_warnings(low, names)
    assert "low-high lies low" in warning


def test_a_bass_that_is_known_is_tested_too() -> None:
    """A low b7 at the bottom clashes with a bass's root (Lowell and Pullig); alone it does not."""
    (warning,) = low_warnings((46, 55), ("Bb2", "G3"), bass_pc=0)
    assert warning == "low for the bass below: the minor 7th up to Bb2 lies low"
    assert low_warnings((46, 55), ("Bb2", "G3")) == ()


def test_ordinary_left_hands_are_not_warned_of() -> None:
    """A published dictionary of rootless left hands, every key from C3 up: under 1 in 50."""
    rows = json.loads((DATA / "rootless_lefthand.json").read_text(encoding="utf-8"))
    stacks = [
        [
            48 + (root + row["semitones"][0]) % 12 + step - row["semitones"][0]
            for step in row["semitones"]
        ]
        for row in rows
        for root in range(12)
    ]
    warned = sum(bool(low_warnings(stack, [str(one) for one in stack])) for stack in stacks)
    assert warned / len(stacks) < 0.02
