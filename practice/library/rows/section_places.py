"""Which takes are sections of which recording, and which recordings were worked through.

A section is known again where it shares more than half of the longer of two with one that is
kept, so that a new hearing that cuts a little earlier or later makes no second take.
"""

import sqlite3

from stackline.practice.library.dates import now
from stackline.practice.library.store import Store
from stackline.shared.notes import CutFrom
from stackline.shared.take import Source

SAME = 0.5  # of the longer one


def known(connection: sqlite3.Connection, source: Source) -> sqlite3.Row | None:
    """The take (id, document) that is there already: of this sound, or of nearly this section."""
    found: sqlite3.Row | None = connection.execute(
        "SELECT id, document FROM take WHERE sha256 = ?", (source.sha256,)
    ).fetchone()
    cut = source.cut_from
    if found is not None or cut is None:
        return found
    rows: list[sqlite3.Row] = connection.execute(
        "SELECT id, document, start_s, end_s FROM take JOIN section ON take_id = id "
        "WHERE of_sha256 = ?", (cut.sha256,),
    ).fetchall()  # fmt: skip
    return next((row for row in rows if _is_same(cut, row["start_s"], row["end_s"])), None)


def _is_same(cut: CutFrom, start_s: float, end_s: float) -> bool:
    shared_s = min(cut.end_s, end_s) - max(cut.start_s, start_s)
    return shared_s > SAME * max(cut.end_s - cut.start_s, end_s - start_s)


def place(connection: sqlite3.Connection, take_id: int, source: Source) -> None:
    """Keep where a take lies in its recording; corrections stay where they are in that."""
    cut = source.cut_from
    if cut is None:
        return
    before = connection.execute(
        "SELECT start_s FROM section WHERE take_id = ?", (take_id,)
    ).fetchone()
    if before is not None:
        connection.execute(
            "UPDATE correction SET onset_s = max(0.0, onset_s + ?) WHERE take_id = ?",
            (before["start_s"] - cut.start_s, take_id),
        )
    connection.execute(
        "INSERT OR REPLACE INTO section VALUES (?, ?, ?, ?, ?)",
        (take_id, cut.name, cut.sha256, cut.start_s, cut.end_s),
    )
    connection.execute(
        "UPDATE take SET sha256 = ?, name = ? WHERE id = ?", (source.sha256, source.name, take_id)
    )


def was_heard(store: Store, sha256: str) -> bool:
    """Whether a recording of this content was worked through, or is kept whole or in parts."""
    found = store.read(
        "SELECT 1 FROM recording WHERE sha256 = ? UNION SELECT 1 FROM take WHERE sha256 = ? "
        "UNION SELECT 1 FROM section WHERE of_sha256 = ?", (sha256, sha256, sha256),
    )  # fmt: skip
    return bool(found)


def remember(store: Store, sha256: str, name: str, outcome: str) -> None:
    """Keep in mind that a recording was worked through, whatever is kept of it."""
    with store.write() as connection:
        connection.execute(
            "INSERT INTO recording VALUES (?, ?, ?, ?) ON CONFLICT (sha256) DO UPDATE SET "
            "heard_at = excluded.heard_at, outcome = excluded.outcome",
            (sha256, name, now(), outcome),
        )
