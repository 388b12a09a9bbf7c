"""Real players: the annotated trios of the Jazz Trio Database (MIT), each left out of the learning.

Bars of the tests lie below the figures in bench/results/trios.md.
"""

import pytest

from bench.beats.trios import measure, tracks


def test_the_trios_are_there() -> None:
    """17 tracks, beats and bars and three parts."""
    assert len(tracks()) == 17
    assert all(one["piano"] and one["bass"] and one["drums"] for one in tracks())


@pytest.mark.parametrize("index", [0, 2, 9])
def test_beats_of_a_pianist_alone(index: int) -> None:
    """Lines at 190 to 220 beats a minute."""
    row = measure(index, ("piano",), tempo_given=False)
    assert (row["beat_f"] or 0) > 0.9
    assert row["tempo_right"]


def test_beats_with_drums() -> None:
    """A drummer makes them sure."""
    row = measure(0, ("piano", "drums"), tempo_given=False)
    assert (row["beat_f"] or 0) > 0.97


@pytest.mark.parametrize("index", [0, 6, 15])
def test_the_first_of_the_bar(index: int) -> None:
    """The annotators' ones, from a pianist's lines alone: how he rests shows them."""
    row = measure(index, ("piano",), tempo_given=False)
    assert (row["downbeat_f"] or 0) > 0.9
