"""The group of commands that keep takes over time, and the library that they open."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from stackline.practice.library.library import Library

FILE = click.option("--file", "file", metavar="FILE", type=click.Path(path_type=Path),
                    help="The library's file, instead of the usual one.")  # fmt: skip
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")


@click.group()
def library() -> None:
    """Keep takes over time, find voicings in them, correct what was misheard.

    \b
    Example:
      stackline library add monday.m4a tuesday.m4a
      stackline library search --structure "drop 2" --key Eb
    """


def opened(file: Path | None) -> "Library":
    """The library of a file, or the usual one."""
    from stackline.practice.library.library import Library

    return Library(file)
