"""A take in sections for the score: attacks in time, and passages out of time between them.

A section in time is one stretch of beats with the attacks that have a position there; one out of
time is a passage with its attacks, which have none. A stretch of a single beat carries no
position and belongs to the passage round it. Where the record does not fit its own passages
(an attack without a position among beats, positions without beats) there are no sections in
time, and the take is written as without a grid.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from stackline.shared.notes import Attack, Beat, BeatGrid
from stackline.shared.take import Take


@dataclass(frozen=True, kw_only=True)
class Section:
    """Attacks of one kind in a row.

    beats: each with its bar's number; none out of time. start_s: when a passage begins, in
    seconds; said where no attack says it.
    """

    in_time: bool
    attacks: tuple[Attack, ...]
    beats: tuple[tuple[Beat, int], ...] = ()
    start_s: float = 0.0


def sections(take: Take) -> tuple[Section, ...]:
    """The sections from the first attack to the last, in turn in time and out of time.

    Empty where the take has no beats to stand on; see the module's text.
    """
    stretches = [pair for pair in take.grid.stretches() if pair[1] - pair[0] > 1]
    orders = list(_orders(take.attacks, take.grid, stretches))
    placed = [attack.position is not None for attack in take.attacks]
    fits = all(order % 2 == (not there) for order, there in zip(orders, placed, strict=True))
    if not any(placed) or not fits or any(b < a for a, b in pairwise(orders)):
        return ()
    beats = tuple(zip(take.grid.beats, take.grid.bars(), strict=True))
    found: dict[int, list[Attack]] = {order: [] for order in range(orders[0], orders[-1] + 1)}
    for attack, order in zip(take.attacks, orders, strict=True):
        found[order].append(attack)
    return tuple(
        _passage(take.grid, tuple(inside), stretches[order // 2][1] - 1 if order > 0 else None)
        if order % 2
        else Section(
            in_time=True, attacks=tuple(inside), beats=beats[slice(*stretches[order // 2])]
        )
        for order, inside in found.items()
    )


def _orders(
    attacks: Sequence[Attack], grid: BeatGrid, stretches: Sequence[tuple[int, int]]
) -> Iterator[int]:
    """2 i for an attack in stretch i, 2 i - 1 for one in the passage before that stretch."""
    begins = [grid.beats[first].time_s for first, _ in stretches]
    breaks = [
        min(
            (one.start_s for one in grid.out_of_time
             if grid.beats[after - 1].time_s <= one.start_s and one.end_s <= following),
            default=following,
        )
        for (_, after), following in zip(stretches, begins[1:], strict=False)
    ]  # fmt: skip
    for attack in attacks:
        if attack.position is None:
            yield 2 * bisect_right(begins, attack.onset_s) - 1
        else:
            yield 2 * bisect_right(breaks, attack.onset_s) if stretches else 1


def _passage(grid: BeatGrid, attacks: tuple[Attack, ...], last: int | None) -> Section:
    """A passage out of time after beat number `last`, None before the first."""
    before_s = 0.0 if last is None else grid.beats[last].time_s
    starts = [one.start_s for one in grid.out_of_time if one.start_s >= before_s]
    return Section(in_time=False, attacks=attacks, start_s=min(starts, default=before_s))
