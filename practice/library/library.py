"""The library: takes over time, each once, with the player's corrections and passes.

The same audio (by the sha256 of its file) is one take: adding it again changes nothing, and
adding a newer analysis of it replaces the analysis and keeps corrections, note and date.
Passes that were found against a target are reviewed again whenever the take changes.
"""

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from stackline.practice.library.corrections import Corrected, Correction, lay_over
from stackline.practice.library.dates import now, read_date
from stackline.practice.library.kept_take import pack, same, unpack
from stackline.practice.library.rows.section_places import known, place
from stackline.practice.library.rows.take_rows import (
    corrected_take,
    insert_take,
    pitch_text,
    read_correction,
    replace_analysis,
    write_index,
    write_passes,
)
from stackline.practice.library.schema import INDEX_FORM
from stackline.practice.library.store import Store
from stackline.practice.targets.target_file import parse_set, print_set
from stackline.practice.targets.targets import Target
from stackline.shared.complaint import Complaint
from stackline.shared.folder import library_path
from stackline.shared.take import Take
from stackline.theory.chords.symbols import parse_symbol

Outcome = Literal["added", "already there", "analysed again"]
_TAKE_COLUMNS = (
    "id, name, played_on, added_at, ear, version, duration_s, tempo_bpm, n_voicings, note, "
    "of_name, start_s, end_s"
)
_TAKES = "take LEFT JOIN section ON take_id = id"


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A take in the list. played_on, added_at: ISO 8601. of_name, start_s, end_s: where a section
    lies in which recording, None where the take is a recording of its own.
    """

    id: int
    name: str
    played_on: str
    added_at: str
    ear: str
    version: str
    duration_s: float
    tempo_bpm: float | None
    n_voicings: int
    note: str
    of_name: str | None
    start_s: float | None
    end_s: float | None


@dataclass(frozen=True, kw_only=True)
class Added:
    """What came of adding. unplaced: corrections that find no voicing in the new analysis."""

    id: int
    outcome: Outcome
    unplaced: tuple[Correction, ...] = ()


class Library:
    """The library in a file. Use as a context manager, or call `close`."""

    def __init__(self, path: Path | None = None) -> None:
        self.store = Store(path or library_path())

    def __enter__(self) -> "Library":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.store.close()

    def add(self, take: Take, *, played_on: str | None = None, note: str = "") -> Added:
        """Add a take, or a newer analysis of one that is there, in one transaction.

        played_on: an ISO date, today if left out. Raises Complaint for another date, or a
        take in which nothing was heard.
        """
        if not take.attacks:
            raise Complaint(f"nothing was heard in {take.source.name}, so nothing was added")
        date = read_date(played_on)
        document = pack(take)
        with self.store.write() as connection:
            found = known(connection, take.source)
            if found and same(found["document"], document):
                return Added(id=found["id"], outcome="already there")
            if found:
                replace_analysis(connection, found["id"], take, document)
                place(connection, found["id"], take.source)
                corrected = write_index(connection, found["id"], take)
                return Added(id=found["id"], outcome="analysed again", unplaced=corrected.unplaced)
            take_id = insert_take(connection, take, document, date, note)
            place(connection, take_id, take.source)
            write_index(connection, take_id, take)
        return Added(id=take_id, outcome="added")

    def entries(self) -> list[Entry]:
        """Every take, the newest first."""
        rows = self.store.read(
            f"SELECT {_TAKE_COLUMNS} FROM {_TAKES} ORDER BY played_on DESC, id DESC"
        )
        return [Entry(**dict(row)) for row in rows]

    def entry(self, take_id: int) -> Entry:
        """One take's facts; raises Complaint for a number that is not there."""
        rows = self.store.read(f"SELECT {_TAKE_COLUMNS} FROM {_TAKES} WHERE id = ?", (take_id,))
        if not rows:
            raise Complaint(f"no take has the number {take_id}; see: stackline library list")
        return Entry(**dict(rows[0]))

    def heard(self, take_id: int) -> Take:
        """A take as the ear heard it."""
        name = self.entry(take_id).name
        rows = self.store.read("SELECT document FROM take WHERE id = ?", (take_id,))
        try:
            return unpack(rows[0]["document"])
        except Complaint as complaint:
            raise Complaint(
                f"take {take_id} ({name}) is damaged in the library: {complaint}; "
                "add its recording again, or remove it"
            ) from complaint

    def take(self, take_id: int) -> Take:
        """A take with the player's corrections in it."""
        return lay_over(self.heard(take_id), self.corrections(take_id)).take

    def corrections(self, take_id: int) -> tuple[Correction, ...]:
        """What the player put right, by place."""
        rows = self.store.read(
            "SELECT onset_s, symbol, pitches FROM correction WHERE take_id = ? "
            "ORDER BY onset_s, id", (take_id,),
        )  # fmt: skip
        return tuple(read_correction(row) for row in rows)

    def correct(self, take_id: int, correction: Correction) -> Corrected:
        """Keep a correction; a later one at the same place replaces it.

        Raises Complaint when no voicing begins there, or for a symbol that cannot be read.
        """
        if correction.symbol is None and not correction.pitches:
            raise Complaint('say what is right: --chord G7alt, --notes "F3 A3 B3 E4", or both')
        if correction.symbol is not None:
            parse_symbol(correction.symbol)
        heard = self.heard(take_id)
        if lay_over(heard, [correction]).unplaced:
            raise Complaint(
                f"no voicing of take {take_id} begins within 0.15 s of {correction.onset_s:g} s; "
                f"see the places with: stackline library show {take_id}"
            )
        with self.store.write() as connection:
            connection.execute(
                "DELETE FROM correction WHERE take_id = ? AND abs(onset_s - ?) < 0.05",
                (take_id, correction.onset_s),
            )
            connection.execute(
                "INSERT INTO correction (take_id, onset_s, symbol, pitches, made_at) "
                "VALUES (?, ?, ?, ?, ?)",
                (take_id, correction.onset_s, correction.symbol, pitch_text(correction), now()),
            )
            return write_index(connection, take_id, heard)

    def edit(self, take_id: int, *, played_on: str | None = None, note: str | None = None) -> None:
        """Change the date or the note of a take; what is None stays as it is.

        Its passes move to the new date. Raises Complaint for a take that is not there, and for
        a date that is none or still to come.
        """
        entry = self.entry(take_id)
        date = entry.played_on if played_on is None else read_date(played_on)
        with self.store.write() as connection:
            connection.execute(
                "UPDATE take SET played_on = ?, note = ? WHERE id = ?",
                (date, entry.note if note is None else note, take_id),
            )
            connection.execute("UPDATE pass SET played_on = ? WHERE take_id = ?", (date, take_id))

    def remove(self, take_id: int) -> None:
        """Remove a take with everything that belongs to it."""
        self.entry(take_id)
        with self.store.write() as connection:
            connection.execute("DELETE FROM take WHERE id = ?", (take_id,))

    def keep_passes(self, take_id: int, target: Target) -> int:
        """Review a take against a target and keep what was found; the number of rows kept.

        Takes reviewed against an older form of the target are reviewed again.
        """
        self.entry(take_id)
        text = print_set([target])
        with self.store.write() as connection:
            others = [
                row[0]
                for row in connection.execute(
                    "SELECT DISTINCT take_id FROM pass JOIN target ON target.name = pass.target "
                    "WHERE target = ? AND document <> ? AND take_id <> ?",
                    (target.name, text, take_id),
                )
            ]
            connection.execute(
                "INSERT INTO target VALUES (?, ?) "
                "ON CONFLICT (name) DO UPDATE SET document = excluded.document",
                (target.name, text),
            )
            for other in others:
                with contextlib.suppress(Complaint):  # damaged; reading it says so
                    write_passes(connection, other, corrected_take(connection, other), target)
            kept = corrected_take(connection, take_id)
            return write_passes(connection, take_id, kept, target)

    def bring_up(self) -> int:
        """Make the rows anew of takes that an older version kept; how many there were.

        A damaged take keeps the rows that it has.
        """
        old = self.store.read("SELECT id FROM take WHERE index_form < ?", (INDEX_FORM,))
        for row in old:
            with contextlib.suppress(Complaint):  # damaged; reading it says so
                heard = self.heard(row["id"])
                with self.store.write() as connection:
                    write_index(connection, row["id"], heard)
        return len(old)

    def targets(self) -> tuple[Target, ...]:
        """The targets that takes were reviewed against."""
        rows = self.store.read("SELECT name, document FROM target ORDER BY name")
        return tuple(parse_set(row["document"], row["name"])[0] for row in rows)
