"""Clefs stay for a passage (common practice in piano music; the numbers are ours)."""

import pytest

from stackline.report.score.score_clefs import STEADY_BARS, staff_clefs

HOME = ("treble", "bass")


def test_hands_in_their_registers_have_their_clefs() -> None:
    """Right hand in the treble clef, left hand in the bass clef, also through rests."""
    assert staff_clefs([(72.0, 52.0), (None, None), (64.0, 57.0)]) == [HOME] * 3
    assert staff_clefs([]) == []


@pytest.mark.parametrize("bars", range(1, STEADY_BARS))
def test_a_few_high_bars_of_the_left_hand_change_nothing(bars: int) -> None:
    """Rootless chords up to E4 are read with a ledger line or two."""
    means = [(None, 55.0)] * 4 + [(None, 65.0)] * bars + [(None, 55.0)] * 4
    assert staff_clefs(means) == [HOME] * len(means)


def test_a_high_passage_of_the_left_hand_has_the_treble_clef_throughout() -> None:
    """From its first bar to its last, over a bar of rest inside."""
    means = [(None, 55.0), (None, 65.0), (None, None), *[(None, 66.0)] * 3, (None, 54.0)]
    clefs = [left for _, left in staff_clefs(means)]
    assert clefs == ["bass", "treble", "treble", "treble", "treble", "treble", "bass"]


def test_one_bar_far_above_the_staff_is_enough() -> None:
    """Four ledger lines and more cannot be read."""
    assert staff_clefs([(None, 55.0), (None, 74.0), (None, 55.0)])[1] == ("treble", "treble")
    assert staff_clefs([(60.0, None), (44.0, None), (60.0, None)])[1] == ("bass", "bass")
