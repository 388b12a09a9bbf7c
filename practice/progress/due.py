"""When each key of a target is due again.

Spacing grows with each clean day and falls back with a miss (spaced repetition: H. Ebbinghaus
1885; N. Cepeda et al., "Distributed practice in verbal recall tasks", Psychological Bulletin 132
(2006), on spacing that grows; the steps are common practice): after a clean pass a key is due in
1, 2, 4, 8, then every 16 days. A day counts by the last pass that was played of that key; a miss
brings it back to tomorrow. Clean passes before a key is due leave its date as it is, so that
playing one key all week does not push it a month away.
"""

import datetime
from dataclasses import dataclass

from stackline.practice.library.store import Store

STEPS_DAYS = (1, 2, 4, 8, 16)  # see above
_SQL = """
WITH last AS (
    SELECT target, key, played_on, clean, row_number() OVER (
        PARTITION BY target, key, played_on ORDER BY take_id DESC, start_s DESC
    ) AS back
    FROM pass WHERE finished AND played_on <= ?
)
SELECT target, key, played_on, clean FROM last WHERE back = 1 ORDER BY target, key, played_on
"""


@dataclass(frozen=True, kw_only=True)
class Due:
    """A key of a target: a day when it is due, and the spacing that led there.

    target: its name. key: pitch class of the tonic. spacing_days: 1, 2, 4, 8 or 16. missed:
    whether the last day ended with a miss.
    """

    target: str
    key: int
    day: datetime.date
    spacing_days: int
    missed: bool

    def days_over(self, today: datetime.date) -> int:
        """How many days it has been waiting; negative before it is due."""
        return (today - self.day).days


def due_dates(store: Store, today: datetime.date) -> tuple[Due, ...]:
    """Every key that was ever played through, by what is known up to a day."""
    days: dict[tuple[str, int], list[tuple[datetime.date, bool]]] = {}
    for row in store.read(_SQL, (today.isoformat(),)):
        day = datetime.date.fromisoformat(row["played_on"])
        days.setdefault((row["target"], row["key"]), []).append((day, bool(row["clean"])))
    return tuple(_due(target, key, played) for (target, key), played in days.items())


def _due(target: str, key: int, played: list[tuple[datetime.date, bool]]) -> Due:
    step, due = -1, played[0][0]
    for day, clean in played:
        if not clean:
            step, due = -1, _after(day, STEPS_DAYS[0])
        elif day >= due:
            step = min(step + 1, len(STEPS_DAYS) - 1)
            due = _after(day, STEPS_DAYS[step])
    return Due(
        target=target,
        key=key,
        day=due,
        spacing_days=STEPS_DAYS[max(step, 0)],
        missed=not played[-1][1],
    )


def _after(day: datetime.date, days: int) -> datetime.date:
    return day + datetime.timedelta(days=days)
