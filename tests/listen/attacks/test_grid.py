from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stackline.listen.attacks.grid import quantise, with_positions
from stackline.shared.notes import Attack, Beat, BeatGrid, Note


def attack(onset_s: float) -> Attack:
    """One note at a time."""
    one = Note(onset_s=onset_s, offset_s=onset_s + 0.2, midi=60, velocity=64, confidence=0.9)
    return Attack(onset_s=onset_s, spread_s=0.0, struck=(one,))


def grid(*, beats: int = 16, beat_s: float = 0.5, per_bar: int = 4, first: int = 1) -> BeatGrid:
    """A steady grid from 0 s; `first` is the number of its first beat."""
    return BeatGrid(
        beats=tuple(
            Beat(time_s=i * beat_s, number=(i + first - 1) % per_bar + 1) for i in range(beats)
        ),
        tempo_bpm=60 / beat_s,
        beats_per_bar=per_bar,
    )


def positions(onsets: list[float], on: BeatGrid) -> list[tuple[int, Fraction]]:
    """Bar and beat of attacks at some times."""
    found = with_positions([attack(onset_s) for onset_s in onsets], on)
    return [(one.position.bar, one.position.beat) for one in found if one.position]


@pytest.mark.parametrize(
    ("part", "place"),
    [
        (0.0, Fraction(0)),
        (0.04, Fraction(0)),
        (0.5, Fraction(1, 2)),
        (0.47, Fraction(1, 2)),
        (0.667, Fraction(2, 3)),
        (0.62, Fraction(2, 3)),
        (0.333, Fraction(1, 3)),
        (0.25, Fraction(1, 4)),
        (0.75, Fraction(3, 4)),
        (0.97, Fraction(1)),
    ],
)
def test_the_nearest_place_that_a_player_meant(part: float, place: Fraction) -> None:
    """Halves, thirds and quarters of a beat are exact; a little late or early is the same."""
    assert quantise(part) == place


def test_positions_on_a_steady_grid() -> None:
    """Two beats a second: 0.75 s is the "and" of two, 2.0 s the next bar's one."""
    assert positions([0.0, 0.75, 1.0, 2.0, 3.99], grid()) == [
        (1, Fraction(1)),
        (1, Fraction(5, 2)),
        (1, Fraction(3)),
        (2, Fraction(1)),
        (3, Fraction(1)),
    ]


def test_a_pickup_is_bar_zero() -> None:
    """The first beat is a four: the bar before the first."""
    assert positions([0.0, 0.5], grid(first=4)) == [(0, Fraction(4)), (1, Fraction(1))]


def test_attacks_outside_the_grid_go_on_counting() -> None:
    """Its first and last tempo are carried on."""
    on = grid(beats=4)
    assert positions([2.0, 2.5, 4.0], on) == [(2, Fraction(1)), (2, Fraction(2)), (3, Fraction(1))]


def test_without_a_grid_there_are_no_positions() -> None:
    """No pulse, no place in it."""
    assert with_positions([attack(1.0)], BeatGrid())[0].position is None


@given(st.integers(0, 200), st.sampled_from([2, 3, 4, 5, 7]))
def test_a_beat_later_is_one_beat_later(steps: int, per_bar: int) -> None:
    """Counting: place n of the grid is bar n // per_bar + 1, beat n % per_bar + 1."""
    on = grid(beats=220, per_bar=per_bar)
    assert positions([steps * 0.5], on) == [(steps // per_bar + 1, Fraction(steps % per_bar + 1))]
