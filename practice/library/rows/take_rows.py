"""What the library's file holds of a take, written and read inside somebody else's transaction.

Rows to search by and passes follow from the analysis and the corrections: they are made anew
whenever one of these changes.
"""

import sqlite3
from dataclasses import astuple

from stackline.practice.library.corrections import Corrected, Correction, lay_over
from stackline.practice.library.dates import now
from stackline.practice.library.kept_take import unpack
from stackline.practice.library.rows.index_rows import voicing_rows
from stackline.practice.library.rows.pass_rows import pass_rows
from stackline.practice.library.rows.resolution_rows import resolution_rows
from stackline.practice.library.schema import INDEX_FORM
from stackline.practice.review.reviewing import review
from stackline.practice.targets.target_file import parse_set
from stackline.practice.targets.targets import Target
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take


def insert_take(
    connection: sqlite3.Connection, take: Take, document: bytes, date: str, note: str
) -> int:
    """A new take; its number."""
    cursor = connection.execute(
        "INSERT INTO take (sha256, name, played_on, added_at, ear, version, duration_s, "
        "tempo_bpm, n_voicings, note, document) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (take.source.sha256, take.source.name, date, now(), take.ear, take.version,
         take.source.duration_s, take.grid.tempo_bpm, len(take.voicings), note, document),
    )  # fmt: skip
    return int(cursor.lastrowid or 0)


def replace_analysis(
    connection: sqlite3.Connection, take_id: int, take: Take, document: bytes
) -> None:
    """A newer analysis in the place of the one that is there."""
    connection.execute(
        "UPDATE take SET ear = ?, version = ?, duration_s = ?, tempo_bpm = ?, document = ? "
        "WHERE id = ?",
        (take.ear, take.version, take.source.duration_s, take.grid.tempo_bpm, document, take_id),
    )  # fmt: skip


def write_index(connection: sqlite3.Connection, take_id: int, heard: Take) -> Corrected:
    """Make the rows of a take anew, with its corrections, and review its passes again."""
    corrected = lay_over(heard, corrections_of(connection, take_id))
    connection.execute("DELETE FROM structure WHERE take_id = ?", (take_id,))
    connection.execute("DELETE FROM voicing WHERE take_id = ?", (take_id,))
    rows = voicing_rows(corrected.take, corrected.places)
    connection.executemany(
        f"INSERT INTO voicing VALUES ({', '.join('?' * 15)})",
        [
            (take_id, row.place, row.onset_s, row.symbol, row.root, row.quality, row.stack,
             row.shape, row.key, row.move, row.move_degrees, row.confidence, row.corrected,
             row.lowest, row.highest)
            for row in rows
        ],
    )  # fmt: skip
    connection.executemany(
        "INSERT INTO structure VALUES (?, ?, ?)",
        [(name, take_id, row.place) for row in rows for name in dict.fromkeys(row.structures)],
    )
    connection.executemany(
        "INSERT INTO resolution VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [(take_id, *astuple(row)) for row in resolution_rows(corrected.take)],
    )
    connection.execute(
        "UPDATE take SET n_voicings = ?, index_form = ? WHERE id = ?",
        (len(rows), INDEX_FORM, take_id),
    )
    for target in targets_of(connection, take_id):
        write_passes(connection, take_id, corrected.take, target)
    return corrected


def corrections_of(connection: sqlite3.Connection, take_id: int) -> list[Correction]:
    """A take's corrections by place; raises Complaint for a damaged one."""
    rows = connection.execute(
        "SELECT onset_s, symbol, pitches FROM correction WHERE take_id = ? ORDER BY onset_s, id",
        (take_id,),
    )
    return [read_correction(row) for row in rows]


def read_correction(row: sqlite3.Row) -> Correction:
    """One correction; raises Complaint for a damaged one."""
    try:
        pitches = tuple(int(one) for one in row["pitches"].split()) if row["pitches"] else None
    except (ValueError, AttributeError) as error:
        raise Complaint(f"a correction in the library is damaged: {row['pitches']!r}") from error
    return Correction(onset_s=row["onset_s"], symbol=row["symbol"], pitches=pitches)


def pitch_text(correction: Correction) -> str | None:
    """Corrected notes as they are kept; None where the chord alone was corrected."""
    return " ".join(map(str, correction.pitches)) if correction.pitches else None


def targets_of(connection: sqlite3.Connection, take_id: int) -> list[Target]:
    """What a take was reviewed against."""
    rows = connection.execute(
        "SELECT name, document FROM target WHERE name IN "
        "(SELECT target FROM pass WHERE take_id = ?)",
        (take_id,),
    )
    return [parse_set(row["document"], row["name"])[0] for row in rows.fetchall()]


def write_passes(connection: sqlite3.Connection, take_id: int, take: Take, target: Target) -> int:
    """Replace what is kept of a take against a target."""
    connection.execute("DELETE FROM pass WHERE take_id = ? AND target = ?", (take_id, target.name))
    date = connection.execute("SELECT played_on FROM take WHERE id = ?", (take_id,)).fetchone()[0]
    rows = pass_rows(review(take, target))
    connection.executemany(
        "INSERT INTO pass (take_id, target, played_on, start_s, key, finished, clean, landed, "
        "due, tempo_bpm, faults) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            (take_id, target.name, date, row.start_s, row.key, row.finished, row.clean,
             row.landed, row.due, row.tempo_bpm, row.faults)
            for row in rows
        ],
    )  # fmt: skip
    return len(rows)


def corrected_take(connection: sqlite3.Connection, take_id: int) -> Take:
    """A take as the player left it; raises Complaint where it is damaged."""
    row = connection.execute("SELECT document FROM take WHERE id = ?", (take_id,)).fetchone()
    return lay_over(unpack(row["document"]), corrections_of(connection, take_id)).take
