"""The twelve-key table of a target: what the library knows of each key.

The verdict is that of `verdict` over all passes ever kept: solid needs
the last three clean, on two days. Dates are ISO 8601; false starts count as nothing but themselves.
"""

from dataclasses import dataclass
from typing import Any

from stackline.practice.library.store import Store
from stackline.practice.review.review_records import Verdict
from stackline.practice.review.reviewing import CIRCLE, verdict
from stackline.practice.targets.numerals import key_name

_SQL = """
WITH ranked AS (
    SELECT key, finished, clean, landed, due, tempo_bpm, played_on,
        row_number() OVER (
            PARTITION BY key, finished ORDER BY played_on DESC, take_id DESC, start_s DESC
        ) AS back
    FROM pass WHERE target = ?
)
SELECT key,
    sum(finished) AS passes,
    sum(clean) AS clean,
    sum(NOT finished) AS false_starts,
    sum(landed) AS landed,
    sum(due) AS due,
    max(CASE WHEN clean THEN tempo_bpm END) AS best_bpm,
    max(CASE WHEN finished THEN played_on END) AS last_played,
    sum(CASE WHEN finished AND back <= 3 THEN clean END) AS last_clean,
    count(CASE WHEN finished AND back <= 3 THEN 1 END) AS last_passes,
    count(DISTINCT CASE WHEN finished AND back <= 3 THEN played_on END) AS last_days
FROM ranked GROUP BY key
"""


@dataclass(frozen=True, kw_only=True)
class KeyHistory:
    """One key of a target over time. landed of due: resolutions. last_played: ISO or None."""

    key: int
    verdict: Verdict
    passes: int
    clean: int
    false_starts: int
    landed: int
    due: int
    best_bpm: float | None
    last_played: str | None

    @property
    def key_name(self) -> str:
        return key_name(self.key)

    @property
    def landed_rate(self) -> float | None:
        """Share of resolutions that landed, None where none was due."""
        return self.landed / self.due if self.due else None


def twelve_keys(store: Store, target: str) -> tuple[KeyHistory, ...]:
    """All twelve keys of a target, round the circle of fourths from C."""
    rows = {row["key"]: row for row in store.read(_SQL, (target,))}
    return tuple(_history(key, dict(rows[key])) if key in rows else _never(key) for key in CIRCLE)


def _history(key: int, row: dict[str, Any]) -> KeyHistory:
    last = row["last_passes"]
    last_clean = row["last_clean"] or 0
    earlier = [index < row["clean"] - last_clean for index in range(row["passes"] - last)]
    recent = [index < last_clean for index in range(last)]
    return KeyHistory(
        key=key,
        verdict=verdict(earlier + recent, days=row["last_days"]),
        passes=row["passes"],
        clean=row["clean"],
        false_starts=row["false_starts"],
        landed=row["landed"],
        due=row["due"],
        best_bpm=row["best_bpm"],
        last_played=row["last_played"],
    )


def _never(key: int) -> KeyHistory:
    return KeyHistory(key=key, verdict="not played", passes=0, clean=0, false_starts=0, landed=0,
                      due=0, best_bpm=None, last_played=None)  # fmt: skip
