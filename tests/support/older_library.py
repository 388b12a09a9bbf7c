"""A library file taken back to earlier tables, as an older version left it."""

import contextlib
import sqlite3
from pathlib import Path

_UNDO = {  # the step that is taken back: what it made
    5: ("DROP TABLE sound", "DROP TABLE setting"),
    4: ("DROP TABLE section", "DROP TABLE recording"),
    3: (
        "DROP TABLE resolution",
        "ALTER TABLE voicing DROP COLUMN lowest",
        "ALTER TABLE voicing DROP COLUMN highest",
        "ALTER TABLE take DROP COLUMN index_form",
    ),
    2: ("DROP TABLE pass", "DROP TABLE target"),
}


def take_back(path: Path, version: int) -> None:
    """Leave the tables of `version` alone in a library that nobody has open."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for step in sorted((one for one in _UNDO if one > version), reverse=True):
            for statement in _UNDO[step]:
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {version}")
