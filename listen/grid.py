"""Where attacks stand in the bar: the nearest place that a player would have meant.

Places are beats and their halves, thirds and quarters. A coarser place is preferred
unless a finer one is clearly nearer: a player's timing is no better than some hundredths
of a beat, and the simplest reading is the likelier one.
"""

import dataclasses
from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from shared.notes import Attack, BeatGrid, Position

_PLACES = {  # place within a beat: what it costs, in beats of deviation
    Fraction(0): 0.0,
    Fraction(1, 2): 0.02,
    Fraction(1, 3): 0.06,
    Fraction(2, 3): 0.02,  # the swung eighth
    Fraction(1, 4): 0.09,
    Fraction(3, 4): 0.09,
    Fraction(1): 0.0,
}


def with_positions(attacks: Sequence[Attack], grid: BeatGrid) -> tuple[Attack, ...]:
    """The same attacks with their positions; without a grid, with none."""
    if len(grid.beats) < 2:
        return tuple(dataclasses.replace(attack, position=None) for attack in attacks)
    times = np.array([beat.time_s for beat in grid.beats])
    bars = grid.bars()
    return tuple(
        dataclasses.replace(attack, position=_position(attack.onset_s, times, bars, grid))
        for attack in attacks
    )


def quantise(part: float) -> Fraction:
    """The place meant by a part of a beat, 0..1: one of `_PLACES`."""
    return min(_PLACES, key=lambda place: abs(part - float(place)) + _PLACES[place])


def _position(onset_s: float, times: np.ndarray, bars: tuple[int, ...], grid: BeatGrid) -> Position:
    """The position of one attack; times outside the grid go on at its first or last tempo."""
    index = int(np.clip(np.searchsorted(times, onset_s, side="right") - 1, 0, len(times) - 2))
    part = (onset_s - times[index]) / (times[index + 1] - times[index])
    whole = int(np.floor(part))
    place = index + whole + quantise(part - whole)
    beat_index, rest = int(place // 1), place % 1
    known = min(max(beat_index, 0), len(times) - 1)
    number = grid.beats[known].number + beat_index - known
    bar = bars[known] + (number - 1) // grid.beats_per_bar
    return Position(bar=bar, beat=(number - 1) % grid.beats_per_bar + 1 + rest)
