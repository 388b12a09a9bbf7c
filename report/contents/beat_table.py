"""The notes of each beat as rows: a bar a row, and out of time an attack a row."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from stackline.shared.notes import Note
from stackline.shared.take import Take, notes_per_beat
from stackline.shared.units import clock


@dataclass(frozen=True, kw_only=True)
class BeatRow:
    """title: the bar's number, or the clock time of an attack out of time.

    cells: the notes of each beat, None where the bar has no such beat; an attack out of time
    stands in the first.
    """

    title: str
    cells: tuple[tuple[Note, ...] | None, ...]


def beat_table(take: Take, beats: int) -> tuple[BeatRow, ...]:
    """The rows of a take with a beat grid, in order of time; beats: cells of a row."""
    rows = sorted([*_bars(take, beats), *_out_of_time(take, beats)], key=lambda row: row[0])
    return tuple(row for _, row in rows)


def _bars(take: Take, beats: int) -> Iterator[tuple[float, BeatRow]]:
    for bar, group in groupby(notes_per_beat(take), key=lambda row: row.position.bar):
        rows = list(group)
        found = {int(row.position.beat): row.notes for row in rows}
        cells = tuple(found.get(number) for number in range(1, beats + 1))
        yield rows[0].time_s, BeatRow(title=str(bar), cells=cells)


def _out_of_time(take: Take, beats: int) -> Iterator[tuple[float, BeatRow]]:
    for attack in take.attacks:
        if attack.position is None:
            cells = (attack.struck, *(None,) * (beats - 1))
            yield attack.onset_s, BeatRow(title=clock(attack.onset_s), cells=cells)
