"""The ledger: every resolution of everything that is kept, free playing too, by degree and key.

Landed counts as in `stackline.theory.motion.tally`. What is unsure, in its notes or in its name, is
counted apart: a wrong name would make a miss of good playing.
"""

import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass

from stackline.practice.library.store import Store
from stackline.report.words.marks import UNSURE_BELOW
from stackline.shared.complaint import Complaint
from stackline.theory.motion.tally import ARRIVED

DEGREES = ("b7", "3", "4", "b9", "9", "#9", "#11", "b13", "13", "R", "5")  # guide tones first
_SPANS = {"d": 1, "w": 7, "m": 30}  # days
_ARRIVED = ", ".join(f"'{one}'" for one in sorted(ARRIVED))
_WHERE = "take.played_on >= ? AND (? IS NULL OR r.degree = ?) AND (? IS NULL OR r.key = ?)"
_FROM = "FROM resolution r JOIN take ON take.id = r.take_id"


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is asked for. since: an ISO date; degree, key (pitch class): None means all."""

    since: str = ""
    degree: str | None = None
    key: int | None = None

    @property
    def values(self) -> tuple[object, ...]:
        """The values of `_WHERE`."""
        return (self.since, self.degree, self.degree, self.key, self.key)


@dataclass(frozen=True, kw_only=True)
class Cell:
    """One degree in one key: how many were due and landed, on top and inside."""

    degree: str
    key: int
    due_top: int
    landed_top: int
    due_inner: int
    landed_inner: int

    @property
    def due(self) -> int:
        """On top and inside together."""
        return self.due_top + self.due_inner

    @property
    def landed(self) -> int:
        """On top and inside together."""
        return self.landed_top + self.landed_inner


@dataclass(frozen=True, kw_only=True)
class Miss:
    """One note that did not land. place: index of its voicing. came: what came instead."""

    take_id: int
    take: str
    played_on: str
    place: int
    onset_s: float
    symbol: str
    following: str
    degree: str
    key: int
    is_top: bool
    outcome: str
    came: str | None


@dataclass(frozen=True, kw_only=True)
class Ledger:
    """cells: those in which something was due. unsure: resolutions that were left out."""

    cells: tuple[Cell, ...]
    misses: tuple[Miss, ...]
    unsure: int

    def cell(self, degree: str, key: int) -> Cell | None:
        """One cell, None where nothing was due."""
        return next((one for one in self.cells if (one.degree, one.key) == (degree, key)), None)


def read_since(text: str | None, today: datetime.date) -> str:
    """An ISO date from ``30d``, ``6w``, ``3m`` or a date; empty for everything.

    Raises Complaint for anything else.
    """
    if text is None:
        return ""
    span = re.fullmatch(r"(\d{1,4})([dwm])", text.strip())
    if span:
        return (today - datetime.timedelta(days=int(span[1]) * _SPANS[span[2]])).isoformat()
    try:
        return datetime.date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise Complaint(
            f"--since {text!r}: write days, weeks or months, 30d, 6w, 3m, or a date, 2026-03-09"
        ) from None


def ledger(store: Store, asked: Asked) -> Ledger:
    """Count what was due and what landed."""
    rows = store.read(
        f"SELECT r.degree, r.key, r.is_top, count(*) AS due, sum(r.outcome IN ({_ARRIVED})) AS "
        f"landed {_FROM} WHERE {_WHERE} AND r.confidence >= ? GROUP BY r.degree, r.key, r.is_top",
        (*asked.values, UNSURE_BELOW),
    )
    counts = {(row["degree"], row["key"], row["is_top"]): (row["due"], row["landed"])
              for row in rows}  # fmt: skip
    unsure = store.read(
        f"SELECT count(*) {_FROM} WHERE {_WHERE} AND r.confidence < ?",
        (*asked.values, UNSURE_BELOW),
    )[0][0]
    return Ledger(
        cells=tuple(_cells(counts)), misses=tuple(_misses(store, asked)), unsure=int(unsure)
    )


def _cells(counts: dict[tuple[str, int, int], tuple[int, int]]) -> Iterator[Cell]:
    pairs = {(degree, key) for degree, key, _ in counts}
    for degree, key in sorted(pairs, key=lambda one: (_rank(one[0]), one[1])):
        top, inner = (counts.get((degree, key, is_top), (0, 0)) for is_top in (1, 0))
        yield Cell(
            degree=degree,
            key=key,
            due_top=top[0],
            landed_top=top[1],
            due_inner=inner[0],
            landed_inner=inner[1],
        )


def _rank(degree: str) -> tuple[int, str]:
    return (DEGREES.index(degree) if degree in DEGREES else len(DEGREES), degree)


def _misses(store: Store, asked: Asked) -> Iterator[Miss]:
    """The newest first."""
    rows = store.read(
        f"SELECT r.take_id, take.name AS take, take.played_on, r.place, v.onset_s, v.symbol, "
        f"n.symbol AS following, r.degree, r.key, r.is_top, r.outcome, r.came {_FROM} "
        "JOIN voicing v ON v.take_id = r.take_id AND v.place = r.place "
        "JOIN voicing n ON n.take_id = r.take_id AND n.place = r.place + 1 "
        f"WHERE {_WHERE} AND r.confidence >= ? AND r.outcome NOT IN ({_ARRIVED}) "
        "ORDER BY take.played_on DESC, r.take_id DESC, r.place, r.number",
        (*asked.values, UNSURE_BELOW),
    )
    for row in rows:
        yield Miss(**{**dict(row), "is_top": bool(row["is_top"])})
