"""How wide a table may be where it is printed."""

import shutil
import sys

USUAL = 100  # columns, in a pipe or a file


def table_width() -> int:
    """The terminal's width in columns; the usual one where the output is no terminal."""
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else USUAL
