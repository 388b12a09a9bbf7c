"""What is written together: notes under a beam or a triplet bracket, bars in one long rest.

Notes shorter than a quarter that follow each other within a beat are beamed; a rest ends the
beam. The items of a triplet beat stand under one bracket. `LEAST_RESTS` or more silent bars
in a row, a pause in playing, are one rest with a number. A double bar line stands where bars and
slots meet, and before a new key signature (common practice).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from stackline.report.score.score_model import Bar, Item, Line

LEAST_RESTS = 4
FLAGS = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5}  # common practice


@dataclass(frozen=True, kw_only=True)
class Group:
    """Neighbours that begin in one beat. runs: pieces of it that are beamed, or stand alone."""

    triplet: bool
    runs: tuple[tuple[Item, ...], ...]

    @property
    def items(self) -> tuple[Item, ...]:
        return tuple(item for run in self.runs for item in run)


def flags(item: Item) -> int:
    """How many flags an item has: 1 for an eighth note, 0 for rests and quarters on."""
    return FLAGS.get(item.value.name, 0) if item.heads else 0


def groups(line: Line) -> Iterator[Group]:
    """The groups of a line, in order."""
    for (_, triplet), items in groupby(
        line.items, key=lambda item: (int(item.start // 1), item.value.triplet)
    ):
        yield Group(triplet=triplet, runs=tuple(_runs(list(items))))


def _runs(items: Sequence[Item]) -> Iterator[tuple[Item, ...]]:
    for flagged, run in groupby(items, key=lambda item: flags(item) > 0):
        if flagged:
            yield tuple(run)
        else:
            yield from ((item,) for item in run)


def rest_runs(bars: Sequence[Bar]) -> Iterator[tuple[Bar, int]]:
    """Every bar with 1, but a long pause as its first bar with how many bars it lasts."""
    for silent, run in groupby(bars, key=_silence):
        together = list(run)
        if silent is not None and len(together) >= LEAST_RESTS:
            yield together[0], len(together)
        else:
            yield from ((bar, 1) for bar in together)


def ends_passage(bar: Bar, following: Bar) -> bool:
    """Whether a double bar line stands between two bars."""
    if bar.is_slot or following.is_slot:
        return bar.is_slot != following.is_slot
    return bar.fifths != following.fifths


def _silence(bar: Bar) -> tuple[object, ...] | None:
    """What silent bars must share to be one rest; None for a bar with something in it."""
    resting = all(item.whole_bar and not item.spacer for line in bar.lines for item in line.items)
    if not resting or bar.pickup or bar.symbols or bar.stacks:
        return None
    return bar.fifths, bar.beats, bar.length, bar.clefs
