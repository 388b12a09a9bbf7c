"""Where a player's own things lie: the library and the targets of their own.

``STACKLINE_HOME`` names the folder; else it is the usual place for data on this system, as
platformdirs knows it (XDG base directory specification; Apple's and Microsoft's guidelines).
"""

import os
import sys
from pathlib import Path

import platformdirs

OWN = "STACKLINE_HOME"
NAME = "stackline"


def data_folder() -> Path:
    """The folder; it need not exist yet."""
    own = os.environ.get(OWN)
    if own:
        return Path(own)
    usual = platformdirs.user_data_path(NAME, appauthor=False, roaming=True)
    before = _of_before()
    return before if before and before.is_dir() and not usual.exists() else usual


def _of_before() -> Path | None:
    """Where things were kept before platformdirs was asked, if that is another place.

    Then a relative XDG_DATA_HOME was obeyed, against its standard, and none was on a Mac.
    """
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / NAME
    base = os.environ.get("XDG_DATA_HOME")
    return Path(base) / NAME if base else None


def library_path() -> Path:
    """The library's file."""
    return data_folder() / "library.db"


def own_targets_path() -> Path:
    """The file of targets that a player saved."""
    return data_folder() / "targets.toml"
