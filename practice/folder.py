"""Where a player's own things lie: the library and the targets of their own.

``STACKLINE_HOME`` names the folder; else it is the usual place for data on this system
(XDG base directory specification; Apple's and Microsoft's guidelines).
"""

import os
import sys
from pathlib import Path

OWN = "STACKLINE_HOME"


def data_folder() -> Path:
    """The folder; it need not exist yet."""
    own = os.environ.get(OWN)
    if own:
        return Path(own)
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "stackline"
    if sys.platform == "win32":
        base = os.environ.get("APPDATA")
        return (Path(base) if base else Path.home() / "AppData" / "Roaming") / "stackline"
    base = os.environ.get("XDG_DATA_HOME")
    return (Path(base) if base else Path.home() / ".local" / "share") / "stackline"


def library_path() -> Path:
    """The library's file."""
    return data_folder() / "library.db"


def own_targets_path() -> Path:
    """The file of targets that a player saved."""
    return data_folder() / "targets.toml"
