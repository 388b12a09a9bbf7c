"""Hands: what they reach, and where a voicing then lies."""

import pytest

from stackline.shared.complaint import Complaint
from stackline.theory.ways.reach import HIGH, LOW, REACHES, Reach, read_reach


def test_a_tenth_needs_a_hand_that_reaches_it() -> None:
    """R 5 10: C3 G3 E4 spans sixteen semitones."""
    tenth = (0, 7, 16)
    assert not len(Reach(hands="left", widest=REACHES["9th"]).lowest_keys(tenth))
    assert len(Reach(hands="left", widest=REACHES["10th"]).lowest_keys(tenth))
    assert len(Reach(hands="two", widest=REACHES["octave"]).lowest_keys(tenth))


def test_two_hands_means_that_neither_is_empty() -> None:
    """Two hands means that neither is empty."""
    five_close = (0, 2, 4, 5, 7, 9)  # six notes within a hand's span: more than its fingers
    assert not len(Reach(hands="left").lowest_keys(five_close))
    assert len(Reach(hands="two").lowest_keys(five_close))


def test_low_thirds_stay_above_the_published_limit() -> None:
    """A major third not below B2 (47), sweetwater.com's table of low interval limits."""
    keys = Reach().lowest_keys((0, 4, 9))
    assert keys.start == 47
    assert keys.stop - 1 + 9 <= HIGH
    assert keys.start >= LOW


@pytest.mark.parametrize(("hands", "reach"), [("three", "9th"), ("left", "12th"), ("", "9th")])
def test_what_no_hand_is_gets_a_sentence(hands: str, reach: str) -> None:
    """What no hand is gets a sentence."""
    with pytest.raises(Complaint, match="allowed are"):
        read_reach(hands, reach)
