"""Where attacks stand in the bar: the nearest place that a player would have meant.

Places are beats and their halves, thirds and quarters. A coarser place is preferred
unless a finer one is clearly nearer: a player's timing is no better than some hundredths
of a beat, and the simplest reading is the likelier one.
"""

import dataclasses
from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from stackline.shared.notes import Attack, BeatGrid, Position

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
    """The same attacks with their positions; out of time, or without a grid, with none."""
    bars = grid.bars()
    stretches = {
        _passed(grid, grid.beats[first].time_s): _Stretch(
            times_s=np.array([beat.time_s for beat in grid.beats[first:after]]),
            numbers=tuple(beat.number for beat in grid.beats[first:after]),
            bars=bars[first:after],
            beats_per_bar=grid.beats_per_bar,
        )
        for first, after in grid.stretches()
        if after - first > 1
    }

    def position(onset_s: float) -> Position | None:
        stretch = stretches.get(_passed(grid, onset_s))
        return stretch.position(onset_s) if stretch and grid.is_in_time(onset_s) else None

    return tuple(
        dataclasses.replace(attack, position=position(attack.onset_s)) for attack in attacks
    )


def _passed(grid: BeatGrid, time_s: float) -> int:
    """How many passages out of time lie before a moment."""
    return sum(one.end_s <= time_s for one in grid.out_of_time)


@dataclasses.dataclass(frozen=True, kw_only=True, eq=False)
class _Stretch:
    """Beats that follow each other, two or more, with their numbers and bars."""

    times_s: np.ndarray
    numbers: tuple[int, ...]
    bars: tuple[int, ...]
    beats_per_bar: int

    def position(self, onset_s: float) -> Position:
        """The position of an attack; beyond its ends the stretch goes on at its tempo there."""
        times = self.times_s
        index = int(np.clip(np.searchsorted(times, onset_s, "right") - 1, 0, len(times) - 2))
        part = (onset_s - times[index]) / (times[index + 1] - times[index])
        whole = int(np.floor(part))
        place = index + whole + quantise(part - whole)
        beat, rest = int(place // 1), place % 1
        known = min(max(beat, 0), len(times) - 1)
        number = self.numbers[known] + beat - known
        bar = self.bars[known] + (number - 1) // self.beats_per_bar
        return Position(bar=bar, beat=(number - 1) % self.beats_per_bar + 1 + rest)


def quantise(part: float) -> Fraction:
    """The place meant by a part of a beat, 0..1: one of `_PLACES`."""
    return min(_PLACES, key=lambda place: abs(part - float(place)) + _PLACES[place])
