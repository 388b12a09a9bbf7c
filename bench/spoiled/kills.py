"""Two hundred kills, as by a power cut's nearest kin: ``python -m bench.spoiled.kills``.

A process adds takes to a library, or writes outputs one after another, and says of each when it is
done; it is killed (SIGKILL) at a random moment. What was said to be done must be there, whole, and
nothing may be there by half. Temporary files that a kill leaves beside an output are counted: no
program can tidy up after that, and their names begin with a dot.

As many kills come while practice is kept (`kept_kills`). Results go to bench/results/kills.json.
"""

import json
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

import click

from bench.scoring.provenance import provenance
from bench.spoiled.kept_kills import kept_kills
from bench.spoiled.killed import killed_while, numbered
from bench.spoiled.sound_things import sound_take
from stackline.practice.library.library import Library
from stackline.shared.codec.codec_read import from_json
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from stackline.shared.files import write_text

RESULTS = Path(__file__).parents[1] / "results" / "kills.json"
LATEST_S = 0.4  # after the first thing that was said to be done
OUTPUT = "take.json"


def add_one(folder: Path, number: int) -> None:
    """One take into the library, the library opened and closed."""
    with Library(folder / "library.db") as kept:
        kept.add(numbered(number))


def write_one(folder: Path, number: int) -> None:
    """One output in the place of the one before."""
    write_text(folder / OUTPUT, to_json(numbered(number)))


def lost_of_library(folder: Path, said: set[int]) -> list[str]:
    """Takes that were said to be in and are not, or not whole."""
    with Library(folder / "library.db") as kept:
        kept.store.check()
        there = {}
        for entry in kept.entries():
            take = kept.take(entry.id)
            there[int(take.source.sha256, 16)] = take
    wrong = [f"take {number} is lost" for number in sorted(said - set(there))]
    return wrong + [f"take {n} is not whole" for n, take in there.items() if take != numbered(n)]


def lost_of_output(folder: Path, said: list[int]) -> list[str]:
    """An output that is no whole take, or older than the last that was said to be written."""
    try:
        take = from_json((folder / OUTPUT).read_text(encoding="utf-8"))
    except (OSError, ValueError, Complaint) as fault:
        return [f"{OUTPUT} after {said[-1]}: {fault}"]
    number = int(take.source.sha256, 16)
    is_whole = take == numbered(number) and number >= said[-1]
    return [] if is_whole else [f"{OUTPUT} holds take {number} after {said[-1]}"]


def kills(count: int, seed: int = 0) -> dict[str, Any]:
    """Half of them while adding, half while writing; what was lost."""
    rng, lost, said_added, written, left = random.Random(seed), [], set[int](), 0, 0
    with tempfile.TemporaryDirectory(prefix="kills-") as name:
        folder = Path(name)
        for turn in range(count // 2):
            wait_s = rng.uniform(0.0, LATEST_S)
            said_added |= set(killed_while(add_one, folder, 1000 * turn, wait_s))
        lost += lost_of_library(folder, said_added)
        for turn in range(count - count // 2):
            said = killed_while(write_one, folder, 1000 * turn, rng.uniform(0.0, LATEST_S))
            written += len(said)
            lost += lost_of_output(folder, said)
        left = len(list(folder.glob(".stackline-*")))
    return {"kills": count, "said to be added": len(said_added), "said to be written": written,
            "lost or not whole": lost, "temporary files left": left}  # fmt: skip


@click.command()
@click.option("--count", default=200, show_default=True)
@click.option("--seed", default=0, show_default=True)
def main(count: int, seed: int) -> None:
    """Kill, look, and keep what was found."""
    sound_take()
    found = kills(count, seed)
    kept = kept_kills(count, seed)
    found["while practice is kept"] = kept
    print(json.dumps(found, indent=1))
    write_text(RESULTS, json.dumps({"made": provenance(), **found}, indent=1) + "\n")
    lost = [found["lost or not whole"], *(one["lost or not whole"] for one in kept.values())]
    sys.exit(1 if any(lost) else 0)


if __name__ == "__main__":
    main()
