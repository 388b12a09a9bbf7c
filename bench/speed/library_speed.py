"""How fast a big library answers: ``python -m bench.speed.library_speed --takes 5000``.

Fills a library with made practice takes (`practised`, read by theory from their truth
notes). Some hundred different takes are made; each enters many times under another name,
date and sha256, since it is the number of rows that matters here. Every question is asked
several times and the middle time is kept; opening is timed in fresh processes' stead by
closing and opening the file, without emptying the system's cache.
"""

import datetime
import json
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import click

from bench.scoring.provenance import provenance
from fixtures.played.practised import make_practised
from stackline.listen.attacks.attacks import find_attacks
from stackline.practice.library.library import Library
from stackline.practice.library.searching import Query, search
from stackline.practice.progress.twelve_keys import twelve_keys
from stackline.practice.progress.weeks import weeks
from stackline.practice.targets.target_file import built_in
from stackline.shared.files import write_text
from stackline.shared.notes import BeatGrid, Note
from stackline.shared.take import Source, Take
from stackline.theory.reading import read

RESULTS = Path(__file__).parents[1] / "results"
FIRST_SEED = 50_000
DIFFERENT = 200
TIMES = 9
QUERIES = {
    "structure": Query(structure="drop 2"),
    "symbol": Query(chord="G13(b9)"),
    "quality": Query(chord="13(b9)"),
    "stack": Query(stack="b3 5 b7 9"),
    "key": Query(key="Eb"),
    "top-line move": Query(move="-2"),
    "top-line degrees": Query(move="9 > 13"),
    "structure, key and move": Query(structure="rootless, 3rd", key="Eb", move="+0"),
    "shape": Query(like=(1, 0)),
}
PROMISED_MS = {"search": 100.0, "open": 200.0, "twelve keys": 300.0}


def made_take(seed: int) -> tuple[Take, str]:
    """A made take with theory's reading, and the name of the target that it practises."""
    made = make_practised(seed, keys=12)
    notes = tuple(
        Note(onset_s=note.onset_s, offset_s=note.offset_s, midi=note.midi,
             velocity=note.velocity, confidence=0.97)
        for note in made.take.notes
    )  # fmt: skip
    attacks, grid = find_attacks(notes), BeatGrid()
    reading = read(attacks, grid, end_s=made.take.duration_s)
    source = Source(name="x.wav", duration_s=made.take.duration_s, sha256="0" * 64)
    take = Take(
        source=source, ear="truth notes", tuning_cents=0.0, grid=grid, notes=notes,
        attacks=attacks, voicings=reading.voicings, motions=reading.motions, version="0.1.0",
    )  # fmt: skip
    return take, made.target.name


def fill(library: Library, count: int) -> Iterator[int]:
    """Add `count` takes over about three years, each with its passes."""
    different = [made_take(FIRST_SEED + i) for i in range(min(DIFFERENT, count))]
    targets = {one.name: one for one in built_in()}
    first = datetime.date(2023, 1, 2)
    for number in range(count):
        take, target = different[number % len(different)]
        source = replace(take.source, name=f"made-{number}.wav", sha256=f"{number:064x}")
        date = first + datetime.timedelta(days=number * 1000 // count)
        added = library.add(replace(take, source=source), played_on=date.isoformat())
        library.keep_passes(added.id, targets[target])
        yield number


def middle_ms(ask: Callable[[], object]) -> float:
    """The middle of several times, in milliseconds."""
    times = []
    for _ in range(TIMES):
        started = time.perf_counter()
        ask()
        times.append(1000 * (time.perf_counter() - started))
    return statistics.median(times)


def hits(path: Path) -> dict[str, int]:
    """How many voicings each search finds, so that no empty search is called fast."""
    with Library(path) as library:
        return {name: search(library.store, query).voicings for name, query in QUERIES.items()}


def measure(path: Path) -> dict[str, float]:
    """Milliseconds of every question that a player asks."""
    found = {"open": middle_ms(lambda: Library(path).close())}
    with Library(path) as library:
        store = library.store
        busiest = store.read(
            "SELECT target, count(*) AS n FROM pass GROUP BY target ORDER BY n DESC LIMIT 1"
        )[0]["target"]
        found["open and list"] = middle_ms(lambda: _listed(path))
        found["open one take"] = middle_ms(lambda: library.take(1))
        for name, query in QUERIES.items():
            found[f"search: {name}"] = middle_ms(partial(search, store, query))
        found["twelve keys"] = middle_ms(lambda: twelve_keys(store, busiest))
        found["weeks"] = middle_ms(lambda: weeks(store, busiest))
    return found


def _listed(path: Path) -> int:
    with Library(path) as library:
        return len(library.entries())


@click.command()
@click.option("--takes", default=5000, show_default=True, type=click.IntRange(1))
@click.option("--out", type=click.Path(path_type=Path), help="The JSON file to write.")
def main(takes: int, out: Path | None) -> None:
    """Time a library of many takes.

    Example: python -m bench.speed.library_speed --takes 5000
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "library.db"
        started = time.perf_counter()
        with Library(path) as library:
            for number in fill(library, takes):
                if number % 500 == 0:
                    click.echo(f"{number} takes", err=True)
            rows = {
                table: library.store.read(f"SELECT count(*) FROM {table}")[0][0]
                for table in ("take", "voicing", "structure", "pass")
            }
        filling_s = time.perf_counter() - started
        times = measure(path)
        found = hits(path)
        size_mb = path.stat().st_size / 1e6
    facts = provenance() | {"takes": takes, "different": DIFFERENT, "rows": rows, "hits": found,
                            "filling_s": filling_s, "size_mb": size_mb}  # fmt: skip
    data = {"made": facts, "milliseconds": times, "promised_ms": PROMISED_MS}
    write_text(out or RESULTS / "library_speed.json", json.dumps(data, indent=1) + "\n")
    click.echo(json.dumps(data, indent=1))


if __name__ == "__main__":
    main()
