"""The bar pointer on made onsets: bars, tempi and passages that are known, and rates by hand."""

import numpy as np
import pytest

from stackline.listen.time.bar_pointer import Onsets, Path, Told, follow, lengths_between
from stackline.listen.time.rhythms import (
    BINS,
    MANNERS,
    NEWNESS,
    Way,
    comping,
    players,
    sixteenths,
)

# A chorus of comping in four, in beats from 0, and whether its notes are new: chords change on
# ones or are anticipated on the last half (common practice).
PLACES = (0, 1.5, 4, 5, 7.5, 9, 10, 12, 14.5, 16, 17, 18, 19.5, 22, 24, 25.5, 28, 29, 31.5, 34)
NEW = (1, 0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0, 1, 0)
LENGTHS = lengths_between(42, 330)
BPM = 6000.0 / LENGTHS


def onsets(times_s: np.ndarray, new: np.ndarray) -> Onsets:
    """Attacks at some moments, with new notes or without."""
    kind = (new * (NEWNESS - 1)).astype(int)
    return Onsets(part="piano", time_s=times_s, weight=np.ones(len(times_s)), kind=kind)


def chorus(late: float, beat_s: float, choruses: int = 3) -> Onsets:
    """Some choruses of it; off-beats `late` of a beat after their beat, 8 ms of human timing."""
    places = np.concatenate([np.array(PLACES) + 36 * i for i in range(choruses)])
    swung = np.floor(places) + np.where(places % 1, late, 0.0)
    jitter = np.random.default_rng(0).normal(0, 0.008, len(places))
    return onsets(2.0 + beat_s * swung + jitter, np.tile(NEW, choruses).astype(float))


def best(heard: Onsets, told: Told | None = None, lengths: np.ndarray = LENGTHS) -> Path:
    """The likeliest path of comping in four."""
    paths = follow(comping(4, 6000.0 / lengths), lengths, [heard], told or Told())
    return max(paths, key=lambda path: path.score)


@pytest.mark.parametrize("late", [0.5, 0.58, 0.62, 2 / 3])
@pytest.mark.parametrize("beat_s", [0.4, 0.55, 0.8])
def test_beats_and_bars_of_comping(late: float, beat_s: float) -> None:
    """Straight, late and swung off-beats: every true beat within 60 ms, ones on ones."""
    path = best(chorus(late, beat_s))
    assert len(path.stretches) == 1
    beats_s, start = path.stretches[0].time_s, path.stretches[0].start
    true = 2.0 + beat_s * np.arange(105)
    nearest = np.array([int(np.argmin(np.abs(beats_s - at))) for at in true])
    assert np.max(np.abs(beats_s[nearest] - true)) < 0.06
    assert ((nearest + start - np.arange(105)) % 4 == 0).all()


def test_onsets_at_random_are_out_of_time() -> None:
    """Waits drawn evenly over their logarithm, 0.3 to 3 s: few beats are believed."""
    rng = np.random.default_rng(4)
    times_s = np.cumsum(np.exp(rng.uniform(np.log(0.3), np.log(3.0), 60)))
    path = best(onsets(times_s, rng.integers(0, 2, 60).astype(float)))
    inside = sum(
        int(((times_s >= one.time_s[0]) & (times_s <= one.time_s[-1])).sum())
        for one in path.stretches
    )
    assert inside < 20
    assert path.score < best(chorus(0.6, 0.5)).score / 3


def test_a_long_take_is_followed_piece_by_piece() -> None:
    """Twelve minutes: every beat to the end is that of a steady half second."""
    (stretch,) = best(chorus(2 / 3, 0.5, choruses=40)).stretches
    true = 2.0 + 0.5 * np.arange(36 * 40 - 3)
    nearest = np.min(np.abs(stretch.time_s[:, None] - true), axis=0)
    assert np.mean(nearest < 0.05) > 0.98
    assert len(stretch.time_s) < 1.02 * len(true) + 4


def test_a_told_tempo_is_kept() -> None:
    """Half of what was played, if the player says so."""
    lengths = lengths_between(45, 78, 0.008)
    path = best(chorus(2 / 3, 0.5), Told(bpm=60.0, never_free=True), lengths)
    assert np.median(np.diff(path.stretches[0].time_s)) == pytest.approx(1.0, rel=0.03)


@pytest.mark.parametrize("meter", [2, 3, 4, 5])
def test_rates_have_the_mean_one(meter: int) -> None:
    """Over the bar, at each tempo (a definition: they are relative)."""
    ways: list[Way] = [*comping(meter, BPM), players(meter, BPM), sixteenths(meter, BPM)]
    assert len(ways) == len(MANNERS) + 2
    for way in ways:
        for rates in way.rates.values():
            assert rates.shape[1:] == (len(BPM), BINS * meter)
            np.testing.assert_allclose(np.exp(rates).mean(axis=2), 1.0, atol=1e-6)


def test_players_swing_less_the_faster_they_play() -> None:
    """Off-beats come at a later part of a slow beat than of a fast one.

    A. Friberg and A. Sundstroem, Music Perception 19 (2002): swing ratios fall with tempo (memory).
    """
    way = players(4, np.array([130.0, 280.0]))
    rates = np.exp(way.rates["piano"][0]).reshape(2, 4, BINS).sum(axis=1)
    middle = np.arange(11, 18)
    slow, fast = (float(middle @ one[middle] / one[middle].sum()) for one in rates)
    assert slow > fast
