"""One bad input: what is made, and the command that is given it."""

import random
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

OUT = "out"  # the folder that a command may write to
KEPT = "kept.txt"  # a file of the player's that stands where an output goes


@dataclass(frozen=True, kw_only=True)
class Case:
    """kind: for the table. make: writes what it needs into an empty folder and gives the words
    of the command, without ``stackline``; the same for the same seed. stdout: where the
    command's output goes, a device's name or None for a file.
    """

    kind: str
    seed: int
    make: Callable[[Path, random.Random], list[str]]
    stdout: str | None = None

    def words(self, folder: Path) -> list[str]:
        """Make the input in a folder; the words of the command."""
        return self.make(folder, random.Random(self.seed))
