"""The time line: what was practised week by week, and how the last week compares.

Weeks begin on Monday (ISO 8601) and are named by that day. A week without practice is
shown as empty, not left out.
"""

import datetime
from dataclasses import dataclass

from stackline.practice.library.store import Store

_SQL = """
SELECT date(played_on, 'weekday 0', '-6 days') AS monday,
    sum(finished) AS passes,
    sum(clean) AS clean,
    sum(landed) AS landed,
    sum(due) AS due,
    count(DISTINCT CASE WHEN finished THEN key END) AS keys,
    avg(CASE WHEN clean THEN tempo_bpm END) AS mean_bpm
FROM pass WHERE {where} GROUP BY monday ORDER BY monday
"""


@dataclass(frozen=True, kw_only=True)
class Week:
    """One week. monday: ISO date. mean_bpm: mean tempo of clean passes, None without any."""

    monday: str
    passes: int = 0
    clean: int = 0
    landed: int = 0
    due: int = 0
    keys: int = 0
    mean_bpm: float | None = None

    @property
    def clean_rate(self) -> float | None:
        """Share of passes that were clean; None without any."""
        return self.clean / self.passes if self.passes else None

    @property
    def landed_rate(self) -> float | None:
        """Share of resolutions that landed; None where none was due."""
        return self.landed / self.due if self.due else None


def weeks(store: Store, target: str | None = None) -> tuple[Week, ...]:
    """Every week from the first to the last with a pass; of one target, or of all."""
    where, values = ("target = ?", (target,)) if target is not None else ("1", ())
    found = {
        row["monday"]: Week(**dict(row)) for row in store.read(_SQL.format(where=where), values)
    }
    if not found:
        return ()
    day, last = (datetime.date.fromisoformat(one) for one in (min(found), max(found)))
    every = []
    while day <= last:
        name = day.isoformat()
        every.append(found.get(name, Week(monday=name)))
        day += datetime.timedelta(days=7)
    return tuple(every)


def compared(line: tuple[Week, ...]) -> str:
    """The last week against the last one before it that had passes, in a sentence."""
    played = [week for week in line if week.passes]
    if len(played) < 2:
        return "There is only one week so far; the comparison begins with the second."
    before, now = played[-2], played[-1]
    parts = [_moved("clean passes", before.clean_rate, now.clean_rate)]
    if before.due and now.due:
        parts.append(_moved("resolutions landed", before.landed_rate, now.landed_rate))
    if before.mean_bpm and now.mean_bpm:
        parts.append(f"tempo of clean passes {before.mean_bpm:.0f} to {now.mean_bpm:.0f}")
    return f"Week of {now.monday} against week of {before.monday}: {'; '.join(parts)}."


def _moved(what: str, before: float | None, now: float | None) -> str:
    return f"{what} {before or 0:.0%} to {now or 0:.0%}"
