"""Bars where each bar is struck once: the harmonic rhythm stands for the bar.

When attacks come evenly, further apart than beats, and nearly each brings new notes, what is
heard is when chords change. Taking that for the bar is a likely reading (common practice:
one chord a bar); how many beats lie between is not in the sound. So such a grid is
"assumed", with the usual number of beats unless the player tells it, and never confident.
"""

from collections.abc import Sequence

import numpy as np

from stackline.listen.time.bar_places import strikes_of
from stackline.shared.notes import Attack, Beat, BeatGrid

CONFIDENCE = 0.3  # of beats that nobody played

_SHORTEST_S, _LONGEST_S = 1.2, 6.5  # of a bar
_FEWEST_BARS = 6
_EVEN, _EVEN_S = 0.05, 0.03  # by which a bar may differ from those around it
_MOST_RESTS = 4  # bars from one attack to the next
_EVEN_SHARE, _SINGLE_SHARE = 0.85, 0.55  # of gaps that are even, of bars struck once (ours)
_NEW_SHARE = 0.45  # mean share of notes that are new (ours)
_AT_ONE_PLACE, _NEAR_BEATS, _A_BAR = 0.95, 0.25, 1.1  # attacks there; how near; attacks a bar


def assumed_bars(attacks: Sequence[Attack], beats_per_bar: int) -> BeatGrid | None:
    """A grid of even beats in bars that begin with the attacks; None unless all fits."""
    strikes = strikes_of(attacks)
    if len(attacks) < _FEWEST_BARS:
        return None
    gaps = np.diff(strikes.time_s)
    bar_s = float(np.median(gaps[gaps < 1.5 * np.median(gaps)]))
    counts = np.maximum(1, np.rint(gaps / bar_s))
    is_even = np.abs(gaps - counts * bar_s) <= (_EVEN * bar_s + _EVEN_S) * np.sqrt(counts)
    is_even &= counts <= _MOST_RESTS
    if not (
        _SHORTEST_S <= bar_s <= _LONGEST_S
        and is_even.mean() >= _EVEN_SHARE
        and (counts == 1).mean() >= _SINGLE_SHARE
        and strikes.new[1:].mean() >= _NEW_SHARE
    ):
        return None
    at_bar = np.concatenate(([0.0], np.cumsum(counts)))
    bars = np.arange(at_bar[-1] + 2)
    starts = np.interp(bars, at_bar, strikes.time_s)
    starts[-1] = starts[-2] + bar_s
    beats_s = np.interp(np.arange(len(bars[:-1]) * beats_per_bar + 1) / beats_per_bar, bars, starts)
    return BeatGrid(
        beats=tuple(
            Beat(time_s=round(float(time_s), 4), number=i % beats_per_bar + 1)
            for i, time_s in enumerate(beats_s)
        ),
        tempo_bpm=round(60.0 / float(np.mean(np.diff(beats_s))), 1),
        beats_per_bar=beats_per_bar,
        source="assumed",
        confidence=CONFIDENCE,
    )


def is_struck_once_a_bar(grid: BeatGrid, attacks: Sequence[Attack]) -> bool:
    """Whether all attacks stand on one beat of the bar: then nobody played the others."""
    beats_s = np.array([beat.time_s for beat in grid.beats])
    onsets_s = np.array([attack.onset_s for attack in attacks])
    if len(beats_s) < 2 or not len(onsets_s) or grid.beats_per_bar < 2:
        return False
    places = np.interp(onsets_s, beats_s, np.arange(len(beats_s)))
    nearest = np.rint(places).astype(int)
    numbers = np.array([grid.beats[at].number for at in nearest])
    on_beat = np.abs(places - nearest) <= _NEAR_BEATS
    share = max(float(np.mean(on_beat & (numbers == one))) for one in set(numbers.tolist()))
    bars = max((places[-1] - places[0]) / grid.beats_per_bar + 1.0, 1.0)
    return share >= _AT_ONE_PLACE and len(onsets_s) / bars <= _A_BAR
