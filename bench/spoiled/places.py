"""Outputs where they cannot go, and libraries that are damaged."""

import os
import random
from pathlib import Path

from bench.spoiled.case import KEPT
from bench.spoiled.sound_things import library_in, take_in


def odd_output(folder: Path, rng: random.Random) -> list[str]:
    """A device, a pipe's name, a folder, a link, the input itself, a file closed to writing."""
    take = take_in(folder)
    (folder / "folder").mkdir()
    (folder / "circle").symlink_to("circle")
    (folder / "link").symlink_to("nowhere")
    (folder / KEPT).write_text("the player's own\n")
    to = rng.choice(
        (
            "/dev/full",
            "/dev/null",
            "/dev/stdout",
            "/dev/fd/9",
            "folder",
            "circle",
            "link",
            "take.json",
            "none/none/x",
            f"{KEPT}/x",
            "",
            "n" * 256,
            os.fsdecode(b"caf\xe9"),
            "/proc/x",
            "/",
            "library.db",
        )
    )
    library = str(library_in(folder))
    return rng.choice(
        (
            ["check", str(take), "--changes", "V7 | Imaj7", "--json", to],
            ["check", str(take), "--changes", "V7 | Imaj7", "--page", to],
            ["drill", "--changes", "V7 | Imaj7", "--midi", to],
            ["library", "export", to, "--file", library],
            ["library", "backup", to, "--file", library],
            ["library", "add", str(take), "--file", to],
            ["library", "restore", to, "--yes", "--file", library],
            ["targets", "save", "a", "--changes", "V7", "--file", to],
            ["drill", "--changes", "V7 | Imaj7", "--formats", "json,midi,csv", "-o", to],
        )
    )


def damaged_library(folder: Path, rng: random.Random) -> list[str]:
    """A library's file with bytes overwritten, cut, or replaced."""
    path = library_in(folder)
    data = bytearray(path.read_bytes())
    for other in folder.glob("library.db-*"):
        other.unlink()
    what = rng.random()
    if what < 0.6:
        for _ in range(rng.choice((1, 5, 50))):
            at, count = rng.randrange(len(data)), rng.choice((1, 16, 400))
            data[at : at + count] = rng.randbytes(min(count, len(data) - at))
    elif what < 0.8:
        del data[rng.randrange(len(data)) :]
    else:
        data = bytearray(
            rng.choice((b"", b"SQLite format 3\x00", bytes(8192), rng.randbytes(8192)))
        )
    path.write_bytes(data)
    words = rng.choice(
        (
            ["library", "list"],
            ["library", "list", "--json"],
            ["library", "show", "1"],
            ["library", "search", "--stack", "b3 5 b7 9"],
            ["library", "export", "out/all.json"],
            ["library", "backup", "out/copy.db"],
            ["library", "add", str(take_in(folder))],
            ["library", "correct", "1", "--at", "1", "--chord", "G7"],
            ["library", "remove", "1", "--yes"],
            ["progress"],
        )
    )
    return [*words, "--library" if words == ["progress"] else "--file", str(path)]
