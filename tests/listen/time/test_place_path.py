"""Attacks placed in the bar: on made rhythms whose places are known by construction."""

import numpy as np
import pytest

from stackline.listen.time.bar_places import Strikes
from stackline.listen.time.without_clicks.place_moves import PERIODS_S, TEMPI, Ways
from stackline.listen.time.without_clicks.place_path import Asked, place_attacks
from stackline.listen.time.without_clicks.place_rates import MOST_BEATS, OFF_BEATS, TWELFTHS, rates

# A chorus of comping in four, in beats from 0, and whether its notes are new: chords change on
# ones or are anticipated on the last half (common practice).
PLACES = (0, 1.5, 4, 5, 7.5, 9, 10, 12, 14.5, 16, 17, 18, 19.5, 22, 24, 25.5, 28, 29, 31.5, 34)
NEW = (1, 0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0, 1, 0)


def strikes(late: float, *, beat_s: float = 0.5, jitter_s: float = 0.008) -> Strikes:
    """Three choruses of it; off-beats `late` of a beat after their beat."""
    places = np.concatenate([np.array(PLACES) + 36 * i for i in range(3)])
    swung = np.floor(places) + np.where(places % 1, late, 0.0)
    jitter = np.random.default_rng(0).normal(0, jitter_s, len(places))
    count = len(places)
    return Strikes(time_s=2.0 + beat_s * swung + jitter, new=np.tile(NEW, 3).astype(float),
                   weight=np.ones(count))  # fmt: skip


@pytest.mark.parametrize("late", [0.5, 0.58, 0.62, 2 / 3])
@pytest.mark.parametrize("beat_s", [0.4, 0.55, 0.8])
def test_places_and_tempo_of_comping(late: float, beat_s: float) -> None:
    """Straight, late and swung off-beats stand on their beat's half, bar for bar."""
    path = place_attacks(strikes(late, beat_s=beat_s), Asked(meters=(4, 3)))[0]
    assert path.meter == 4
    assert np.nanmedian(path.bpm) == pytest.approx(60 / beat_s, rel=0.03)
    true = np.concatenate([np.array(PLACES) + 36 * i for i in range(3)])
    off = np.abs(path.beats - true - (path.beats - true)[0])
    assert np.nanmax(off) <= 0.25
    assert np.isnan(path.beats).sum() <= 2
    assert (path.stretch == 0).all()


def test_attacks_at_random_are_out_of_time() -> None:
    """Waits drawn evenly over their logarithm, 0.3 to 3 s: nearly all have no place."""
    rng = np.random.default_rng(4)
    times = np.cumsum(np.exp(rng.uniform(np.log(0.3), np.log(3.0), 60)))
    free = Strikes(time_s=times, new=rng.random(60), weight=np.ones(60))
    path = place_attacks(free, Asked(meters=(4, 3)))[0]
    assert (path.stretch < 0).mean() > 0.7
    assert path.score < 0


def test_one_stray_attack_is_loose() -> None:
    """A note between places costs neither its neighbours' places nor the tempo."""
    even = strikes(2 / 3)
    at = len(even.time_s) // 2
    stray = (even.time_s[at - 1] + even.time_s[at]) / 2 + 0.07
    path = place_attacks(
        Strikes(
            time_s=np.insert(even.time_s, at, stray),
            new=np.insert(even.new, at, 0.0),
            weight=np.insert(even.weight, at, 1.0),
        ),
        Asked(meters=(4,)),
    )[0]
    plain = place_attacks(even, Asked(meters=(4,)))[0]
    rest = np.delete(path.beats, at)
    np.testing.assert_allclose(rest - rest[0], plain.beats - plain.beats[0], atol=0.1)


def test_a_told_tempo_and_one_to_avoid() -> None:
    """The tempo told is kept within some per cent; a tempo to avoid is not taken."""
    heard = strikes(2 / 3)
    told = place_attacks(heard, Asked(meters=(4,), told_bpm=60.0))[0]
    assert np.nanmax(np.abs(told.bpm / 60.0 - 1)) < 0.15
    other = place_attacks(heard, Asked(meters=(4,), not_bpm=120.0))[0]
    assert other.score < place_attacks(heard, Asked(meters=(4,)))[0].score
    assert not np.isclose(np.nanmedian(other.bpm), 120.0, rtol=0.1)


def test_rates_are_shares_and_distances_lead_back() -> None:
    """In each manner shares sum to one; the place a distance before has that distance."""
    table = rates((4, 3))
    assert len(np.unique(table.manner)) == 2 * len(OFF_BEATS)
    for manner in np.unique(table.manner):
        mine = table.manner == manner
        assert table.new[mine].sum() == pytest.approx(1.0)
        assert table.again[mine].sum() == pytest.approx(1.0)
    place, distance = np.nonzero(table.before >= 0)
    source = table.before[place, distance]
    bar = TWELFTHS * table.meter[place]
    assert ((table.at[source] + distance - table.at[place]) % bar == 0).all()
    assert (table.manner[source] == table.manner[place]).all()
    assert table.passed.min() == 0.0
    assert table.passed[:, TWELFTHS * MOST_BEATS].max() < MOST_BEATS / 3 + 1


def test_the_ways_of_a_wait_hold_its_distance() -> None:
    """A wait of one and a half beats at 100 is eighteen twelfths there, among others."""
    column = np.array([int(np.argmin(np.abs(TEMPI - 100.0)))])
    ways = Ways.of(1.5 * float(PERIODS_S[column[0]]), column)
    assert ways is not None
    assert 18 in ways.twelfths[ways.allowed]
    assert abs(float(ways.off_s[ways.twelfths == 18][0])) < 1e-6
    assert Ways.of(1e4, column) is None
