"""How often a comping player strikes each place of the bar: in which meter, and how he swings.

Places are twelfths of a beat, as fine as thirds and quarters together need. What falls on whole
and half beats is that of `bar_places`; a half may be played straight, late or as the
last third, and a take does nearly always the same, so each way is a manner of its own
(`OFF_BEATS`). A little is left for true thirds and quarters.
"""

from dataclasses import dataclass, fields
from functools import lru_cache

import numpy as np

from stackline.listen.time.bar_places import shares

TWELFTHS = 12  # of a beat
MOST_BEATS = 16  # from one attack to the next, that are counted through
OFF_BEATS = (  # where the half of a beat is played, in twelfths from the beat
    {6: 0.84, 7: 0.11, 8: 0.05},  # straight
    {6: 0.14, 7: 0.72, 8: 0.14},  # late
    {6: 0.10, 7: 0.15, 8: 0.75},  # swung
    {6: 0.40, 7: 0.25, 8: 0.35},  # hardly at all: chords on the beat
)
ON_THE_BEAT, _SELDOM = 3, 0.08  # that manner, and its share of what is usual off the beat
_FINE = {3: 0.010, 4: 0.014, 9: 0.012}  # share of all attacks on quarters and a first third


@dataclass(frozen=True, kw_only=True, eq=False)
class Rates:
    """Places that are struck at all, n of them, of one or more manners, manner by manner.

    manner: (n,), which manner a place belongs to; meter: (n,), beats in its bar. at: (n,), in
    twelfths from the downbeat. new, again: (n,), shares of attacks with new notes and with notes
    struck again; each sums to 1 in a manner. before: (n, MOST_BEATS * 12 + 1), the place so many
    twelfths before each, -1 where none is. passed: the same shape, the share of a bar's attacks
    that are due strictly between the two (over 1 for more than a bar).
    """

    manner: np.ndarray
    meter: np.ndarray
    at: np.ndarray
    new: np.ndarray
    again: np.ndarray
    before: np.ndarray
    passed: np.ndarray

    def only(self, manners: np.ndarray) -> "tuple[Rates, np.ndarray]":
        """The places of some manners, and which of these places they are."""
        kept = np.flatnonzero(np.isin(self.manner, manners))
        index = np.full(len(self.at) + 1, -1, np.int32)
        index[kept] = np.arange(len(kept))
        parts = {one.name: getattr(self, one.name)[kept] for one in fields(self)}
        return Rates(**parts | {"before": index[parts["before"]]}), kept


@lru_cache(maxsize=16)
def rates(meters: tuple[int, ...]) -> Rates:
    """The rates of some meters, each in every manner of `OFF_BEATS`."""
    parts: list[Rates] = []
    for meter in meters:
        for late in OFF_BEATS:
            first = sum(len(part.at) for part in parts)
            seldom = _SELDOM if late is OFF_BEATS[ON_THE_BEAT] else 1.0
            tables = [_in_twelfths(table, meter, late, seldom) for table in shares(meter)]
            parts.append(_manner(meter, *tables, number=len(parts), first=first))
    return Rates(
        **{
            one.name: np.concatenate([getattr(part, one.name) for part in parts])
            for one in fields(Rates)
        }
    )


def _manner(meter: int, new: np.ndarray, again: np.ndarray, *, number: int, first: int) -> Rates:
    """One manner, whose places are numbered from `first`."""
    length = TWELFTHS * meter
    at = np.flatnonzero(new + again)
    index = np.full(length, -1, np.int32)
    index[at] = first + np.arange(len(at))
    distance = np.arange(TWELFTHS * MOST_BEATS + 1)
    before = index[(at[:, None] - distance) % length]
    before[:, 0] = -1  # no two attacks stand on one place
    bars = MOST_BEATS // meter + 2
    due = np.concatenate(([0.0], np.cumsum(np.tile((new + again) / 2, bars + 1))))
    here = at[:, None] + length * bars
    return Rates(
        manner=np.full(len(at), number),
        meter=np.full(len(at), meter),
        at=at,
        new=new[at],
        again=again[at],
        before=before,
        passed=np.maximum(due[here] - due[here - distance + 1], 0.0).astype(np.float32),
    )


def _in_twelfths(
    table: dict[float, float], meter: int, late: dict[int, float], seldom: float
) -> np.ndarray:
    """Shares over the twelfths of a bar, from shares of its beats and half beats."""
    found = np.zeros(TWELFTHS * meter)
    for place, share in table.items():
        beat = TWELFTHS * int(place)
        if place % 1.0 == 0.0:
            found[beat] += share
        else:
            for twelfths, part in late.items():
                found[beat + twelfths] += share * part * seldom
    for fine, share in _FINE.items():
        found[fine::TWELFTHS] += share / meter * seldom
    return found / float(found.sum())
