"""What is kept of a review: one row a pass or false start, its faults as JSON."""

import json
from dataclasses import dataclass
from typing import Any

from stackline.practice.review.review_records import Review
from stackline.practice.review.reviewing import count_landed
from stackline.practice.written.review_data import fault_data


@dataclass(frozen=True, kw_only=True)
class PassRow:
    """A pass as it is kept; see `stackline.practice.library.schema`. faults: a JSON list."""

    start_s: float
    key: int
    finished: bool
    clean: bool
    landed: int
    due: int
    tempo_bpm: float | None
    faults: str


def pass_rows(review: Review) -> tuple[PassRow, ...]:
    """The rows of a review in order of time."""
    rows = [
        PassRow(
            start_s=one.start_s,
            key=one.key,
            finished=True,
            clean=one.clean,
            landed=(landed := count_landed(one.landings)).landed,
            due=landed.due,
            tempo_bpm=one.tempo_bpm,
            faults=_json([fault_data(fault, review.target) for fault in one.faults]),
        )
        for one in review.passes
    ]
    rows += [
        PassRow(start_s=one.start_s, key=one.key, finished=False, clean=False, landed=0, due=0,
                tempo_bpm=None, faults="[]")
        for one in review.false_starts
    ]  # fmt: skip
    return tuple(sorted(rows, key=lambda row: row.start_s))


def _json(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))
