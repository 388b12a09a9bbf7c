"""The library's file: opened, led up to the newest tables, read and written in transactions.

SQLite with a write-ahead log: readers never wait, and one writer at a time takes the lock
at the start of its transaction (BEGIN IMMEDIATE), so two programs cannot tread on each other.
A transaction is in the file whole or not at all, also when the program is killed; it is
synced before it counts as done.
"""

import contextlib
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path

from stackline.practice.library.schema import STEPS
from stackline.shared.complaint import Complaint

WAIT_S = 15.0  # how long to wait for another program's transaction


class Store:
    """One connection to one library file. Use as a context manager, or call `close`."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with self._told():
            path.parent.mkdir(parents=True, exist_ok=True)
            self._connection = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
            try:
                self._connection.row_factory = sqlite3.Row
                self._connection.text_factory = _text
                self._connection.execute("PRAGMA foreign_keys = ON")
                self._connection.execute("PRAGMA journal_mode = WAL")
                self._connection.execute("PRAGMA synchronous = FULL")
                self._lead_up()
            except BaseException:
                self._connection.close()
                raise

    def __enter__(self) -> "Store":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the connection."""
        self._connection.close()

    @property
    def version(self) -> int:
        """The version of the tables."""
        return int(self._connection.execute("PRAGMA user_version").fetchone()[0])

    def read(self, sql: str, values: Sequence[object] = ()) -> list[sqlite3.Row]:
        """Rows of a query."""
        with self._told():
            return self._connection.execute(sql, values).fetchall()

    @contextlib.contextmanager
    def write(self) -> Iterator[sqlite3.Connection]:
        """A transaction: committed at the end of the block, undone on any exception."""
        with self._told():
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise

    def copy_to(self, other: Path) -> None:
        """Write a whole, consistent copy to a file, while others may go on working."""
        with self._told():
            target = sqlite3.connect(other, isolation_level=None)
            try:
                self._connection.backup(target)
                # a lone file, without a log beside it
                target.execute("PRAGMA journal_mode = DELETE")
            finally:
                target.close()

    def replace_by(self, other: Path) -> None:
        """Put another library's content in the place of this one's, in one step."""
        with self._told():
            source = _read_only(other)
            try:
                _refuse_damage(source, other)
                source.backup(self._connection)
            finally:
                source.close()
            self._connection.execute("PRAGMA journal_mode = WAL")
            self._lead_up()

    def check(self) -> None:
        """Raise Complaint if the file is damaged."""
        with self._told():
            _refuse_damage(self._connection, self.path)

    def _lead_up(self) -> None:
        """Run the steps that are missing, each in a transaction of its own."""
        while self.version < len(STEPS):
            with self.write() as connection:
                version = self.version  # another program may have been quicker
                if version < len(STEPS):
                    for statement in STEPS[version]:
                        connection.execute(statement)
                    connection.execute(f"PRAGMA user_version = {version + 1}")
        if self.version > len(STEPS):
            raise Complaint(
                f"{self.path} was made by a newer stackline (tables {self.version}, this one "
                f"knows {len(STEPS)}); install the newer version, or name another file"
            )

    @contextlib.contextmanager
    def _told(self) -> Iterator[None]:
        """SQLite's errors that a person can fix, as sentences."""
        try:
            yield
        except sqlite3.OperationalError as error:
            raise Complaint(f"the library {self.path} cannot be used: {error}") from error
        except sqlite3.DatabaseError as error:
            if isinstance(error, sqlite3.IntegrityError | sqlite3.ProgrammingError):
                raise
            raise Complaint(
                f"{self.path} is not a library of stackline, or it is damaged ({error}); "
                "restore a backup with: stackline library restore FILE"
            ) from error
        except UnicodeDecodeError as error:  # in what SQLite says of the damage
            raise Complaint(
                f"{self.path} is damaged; restore a backup with: stackline library restore FILE"
            ) from error
        except OSError as error:
            raise Complaint(f"the library {self.path} cannot be used: {error.strerror}") from error


def _text(kept: bytes) -> str:
    """Text of the file; where it is damaged the rest can still be read."""
    return kept.decode("utf-8", "replace")


def count_takes(path: Path) -> int:
    """How many takes a library file holds, without changing it.

    Raises Complaint for a file that is damaged or no library.
    """
    try:
        connection = _read_only(path)
        try:
            _refuse_damage(connection, path)
            return int(connection.execute("SELECT count(*) FROM take").fetchone()[0])
        finally:
            connection.close()
    except sqlite3.DatabaseError as error:
        raise Complaint(f"{path} holds no library that can be read ({error})") from error


def _read_only(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)


def _refuse_damage(connection: sqlite3.Connection, path: Path) -> None:
    found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if found != "ok":
        raise Complaint(f"{path} is damaged ({found}); restore another backup")
    tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if "take" not in tables or not 1 <= version <= len(STEPS):
        raise Complaint(f"{path} holds no library that this stackline can read")
