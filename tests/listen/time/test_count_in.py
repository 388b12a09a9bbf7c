"""A count before the music gives tempo, phase and the one; anything else is no count."""

import numpy as np
import pytest

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.other_sounds.clicks import Clicks
from stackline.listen.time.count_in import find_count_in
from stackline.shared.notes import Attack, Note


def clicks(*times_s: float) -> Clicks:
    """Clear clicks at some times."""
    count = len(times_s)
    return Clicks(
        time_s=np.array(times_s),
        strength=np.ones(count),
        gone_db=np.full(count, 15.0),
        alone=np.ones(count, bool),
    )


def attacks(*onsets_s: float) -> tuple[Attack, ...]:
    """One note at a time."""
    return find_attacks(
        [
            Note(onset_s=at, offset_s=at + 0.3, midi=60, velocity=64, confidence=0.9)
            for at in onsets_s
        ]
    )


@pytest.mark.parametrize("first", [2.5, 2.2, 3.0, 4.0])
def test_four_even_clicks_lead_to_the_one(first: float) -> None:
    """The one is a beat after the last click, whether it is played, anticipated or rested on."""
    count = find_count_in(clicks(0.5, 1.0, 1.5, 2.0), attacks(first, first + 1))
    assert count is not None
    assert count.period_s == pytest.approx(0.5)
    assert count.first_beat_s == pytest.approx(2.5)


def test_of_two_slow_and_four_quick_clicks_the_quick_ones_count() -> None:
    """One, two, one two three four: common practice; the beat is that of the second bar."""
    count = find_count_in(clicks(0.0, 1.0, 2.0, 2.5, 3.0, 3.5), attacks(4.0, 5.0))
    assert count is not None
    assert count.period_s == pytest.approx(0.5)
    assert count.first_beat_s == pytest.approx(4.0)


def test_a_click_heard_as_a_note_does_not_end_the_count() -> None:
    """An attack on a click of the count is the click."""
    count = find_count_in(clicks(0.5, 1.0, 1.5, 2.0), attacks(1.0, 2.5, 3.0))
    assert count is not None
    assert count.first_beat_s == pytest.approx(2.5)


def test_a_metronome_that_goes_on_is_no_count() -> None:
    """Nothing tells which of its clicks is the last before the one; a hint does."""
    metronome = clicks(*np.arange(0.5, 12.0, 0.5))
    assert find_count_in(metronome, attacks(2.5, 4.5)) is None
    told = find_count_in(metronome, attacks(2.5, 4.5), told=4)
    assert told is not None
    assert told.first_beat_s == pytest.approx(2.5)


@pytest.mark.parametrize(
    "times",
    [(0.5, 1.0), (0.5, 1.0, 1.8, 2.1), (0.1, 0.25, 0.4, 0.55), ()],
    ids=["two", "uneven", "too quick", "none"],
)
def test_other_clicks_are_no_count(times: tuple[float, ...]) -> None:
    """Too few, uneven, quicker than a beat, or none at all."""
    assert find_count_in(clicks(*times), attacks(2.5, 3.5)) is None


def test_music_long_after_the_clicks_was_not_counted_in() -> None:
    """Ten beats of silence after four clicks: those were something else."""
    assert find_count_in(clicks(0.5, 1.0, 1.5, 2.0), attacks(7.5, 8.5)) is None
