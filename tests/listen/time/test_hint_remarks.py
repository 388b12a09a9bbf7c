"""A player's word about time that is not followed, or wrong, is told; a right one is not."""

from pathlib import Path

import pytest

from stackline.listen.other_sounds.clicks import NO_CLICKS
from stackline.listen.time.beats import find_beats
from stackline.listen.time.hint_remarks import hint_remarks
from stackline.listen.time.time_hints import NO_HINTS, TimeHints
from stackline.pipeline import transcribe
from tests.listen.time.test_beats import comping
from tests.support.places import ROOT

WARM_UP = ROOT / "fixtures" / "warmup.m4a"  # its truth says 76 beats a minute


def remarks(bpm: float, hints: TimeHints) -> tuple[str, ...]:
    """Of a steady take at a tempo."""
    attacks, _ = comping(bpm, seed=4)
    return hint_remarks(attacks, NO_CLICKS, hints, find_beats(attacks, hints=hints))


@pytest.mark.parametrize("said", [112.0, 116.0, 120.0, 58.0, 232.0])
def test_a_right_tempo_passes_without_a_word(said: float) -> None:
    """Some per cent off; half or double of it, ways to count that the beats then follow."""
    assert remarks(116, TimeHints(tempo_bpm=said)) == ()


def test_no_word_no_remark() -> None:
    """Nothing was given."""
    assert remarks(116, NO_HINTS) == ()


@pytest.mark.parametrize("said", [30.0, 140.0, 160.0, 400.0])
def test_a_tempo_that_cannot_be_is_told(said: float) -> None:
    """Followed or not."""
    (found,) = remarks(116, TimeHints(tempo_bpm=said))
    assert f"{said:g} beats a minute" in found or "no steady beat was found" in found


def test_a_count_that_was_not_heard_is_told() -> None:
    """Nobody counted."""
    assert remarks(116, TimeHints(count_in=4)) == (
        "no count of 4 even clicks was heard, so it changes nothing",
    )


def test_a_wrong_tempo_for_the_bundled_recording(tmp_path: Path) -> None:
    """The whole way from sound: 120 is followed into wrong beats, and told; 76 is right."""
    told: list[str] = []
    transcribe(WARM_UP, hints=TimeHints(tempo_bpm=120.0), remark=told.append)
    assert told == [
        "a tempo of 120 beats a minute was given and is followed; without it 76 would be heard"
    ]
    told.clear()
    transcribe(WARM_UP, hints=TimeHints(tempo_bpm=76.0, beats_per_bar=4), remark=told.append)
    assert told == []
