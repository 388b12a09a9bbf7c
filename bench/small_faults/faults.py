"""How many small faults the tests notice: ``python -m bench.small_faults.faults``.

One fault of `fault_kinds` at a time is put into a copy of the tree, and the tests that run its
line (`passing_tests`) are run on it, those of the file's own test first, then the quickest, as many
as twelve seconds hold. A fault is noticed when one of them fails or does not end. The table is
kept in ``results/faults.json`` after each fault, so a trial that was stopped goes on where it
was; the faults that went unnoticed are places where a test is owed. ``--again`` tries those again.
"""

import json
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import click
import numpy as np

from bench.scoring.provenance import provenance
from bench.small_faults.fault_kinds import Fault, faults_in
from bench.small_faults.passing_tests import FOLDERS, Passing, trace
from bench.small_faults.trial_copy import ENDLESS, UNNOTICED, Copy, load_libraries
from stackline.shared.files import write_text

ROOMS = ("theory", "practice", "listen", "shared", "report")
PRODUCT = (*ROOMS, "stackline")
RESULTS = Path(__file__).parents[1] / "results" / "faults.json"
BUDGET_S = 12.0  # of tests for a fault, by their time when traced
PATIENCE_S = 90.0  # before tests count as not ending


@dataclass(frozen=True, kw_only=True)
class Tried:
    """One fault and what became of it."""

    file: str
    fault: Fault
    outcome: str

    @property
    def key(self) -> tuple[str, int, str, str, str]:
        """What it is, whatever became of it."""
        return (self.file, self.fault.line, self.fault.kind, self.fault.was, self.fault.now)


def chosen(text: str, count: int, rng: np.random.Generator) -> list[Fault]:
    """At most `count` faults of a file, every kind in turn: numbers do not crowd out the rest."""
    by_kind: dict[str, list[Fault]] = {}
    for fault in faults_in(text):
        by_kind.setdefault(fault.kind, []).append(fault)
    for faults in by_kind.values():
        rng.shuffle(faults)
    taken: list[Fault] = []
    while len(taken) < count and any(by_kind.values()):
        for faults in by_kind.values():
            if faults and len(taken) < count:
                taken.append(faults.pop())
    return sorted(taken, key=lambda one: one.line)


def files_of(only: Sequence[str], root: Path) -> list[str]:
    """The product's files below some paths, all five rooms without any."""
    found: list[str] = []
    for place in only or ROOMS:
        path = root / place
        here = [path] if path.is_file() else sorted(path.rglob("*.py"))
        found += [str(one.relative_to(root)) for one in here if one.name != "__init__.py"]
    return list(dict.fromkeys(found))


def plan(files: Sequence[str], root: Path, count: int, seed: int) -> list[tuple[str, Fault]]:
    """`count` faults, as evenly over the files as goes; a file's are its own draw."""
    share, rest = divmod(count, len(files))
    lucky = set(np.random.default_rng(seed).permutation(len(files))[:rest].tolist())
    found = []
    for i, file in enumerate(files):
        rng = np.random.default_rng([seed, *file.encode("utf-8")])
        text = (root / file).read_text(encoding="utf-8")
        found += [(file, fault) for fault in chosen(text, share + (i in lucky), rng)]
    return found


class Trial:
    """Faults tried one after the other on a copy of the tree."""

    def __init__(self, tree: Copy, passing: Passing) -> None:
        self._tree, self._passing = tree, passing
        self._texts = {
            file: (tree.root / file).read_text(encoding="utf-8")
            for file in files_of(PRODUCT, tree.root)
        }

    def try_one(self, file: str, fault: Fault) -> Tried:
        tests = self._passing.for_fault(file, fault.line, self._texts, BUDGET_S)
        with self._tree.with_fault(file, fault):
            outcome = self._tree.tests(tests, PATIENCE_S) if tests else UNNOTICED
        return Tried(file=file, fault=fault, outcome=outcome)

    def check(self, file: str, fault: Fault) -> None:
        """Raise where the tests that speak of a fault fail without it."""
        tests = self._passing.for_fault(file, fault.line, self._texts, BUDGET_S)
        if tests and self._tree.tests(tests, PATIENCE_S) != UNNOTICED:
            raise click.ClickException(f"tests fail without a fault:\n{self._tree.log()}")


def table(tried: Sequence[Tried]) -> str:
    """By folder: faults and how many were noticed; then what was not."""
    lines = ["folder | noticed | faults", "---|---|---"]
    folders = [str(Path(one.file).parent) for one in tried]
    for folder in dict.fromkeys(folders):
        here = [one for one, its in zip(tried, folders, strict=True) if its == folder]
        lines.append(f"{folder} | {sum(one.outcome != UNNOTICED for one in here)} | {len(here)}")
    seen = sum(one.outcome != UNNOTICED for one in tried)
    lines += ["", f"noticed {seen} of {len(tried)}", ""]
    lines += [
        f"{one.file}:{one.fault.line} {one.fault.kind}: {one.fault.was}  ->  {one.fault.now}"
        for one in tried
        if one.outcome == UNNOTICED
    ]
    return "\n".join(lines) + "\n"


def as_data(tried: Sequence[Tried]) -> dict[str, Any]:
    """The table as plain data."""
    seen = sum(one.outcome != UNNOTICED for one in tried)
    return {
        "faults": len(tried),
        "noticed": seen,
        "endless": sum(one.outcome == ENDLESS for one in tried),
        "rows": [[*one.key, one.outcome] for one in tried],
    }


def outcomes_in(path: Path) -> dict[tuple[Any, ...], str]:
    """What became of the faults of a table that was kept; none where there is no such file."""
    if not path.exists():
        return {}
    rows = json.loads(path.read_text(encoding="utf-8")).get("rows", [])
    return {tuple(row[:-1]): row[-1] for row in rows}


@click.command()
@click.option("--only", multiple=True, metavar="PATH", help="A file or folder; may be repeated.")
@click.option("--tests", "folders", multiple=True, metavar="PATH",
              help="The tests to try faults on, below tests/; all without.")  # fmt: skip
@click.option("--count", type=click.IntRange(1), default=500, show_default=True,
              help="Faults in all.")  # fmt: skip
@click.option("--again", is_flag=True, help="Try what went unnoticed in the kept table again.")
@click.option("--seed", default=0, show_default=True)
@click.option("--traced", type=click.Path(path_type=Path),
              help="Where the map of tests is kept; made anew if there is none.")  # fmt: skip
@click.option("--out", type=click.Path(path_type=Path), default=RESULTS, help="The JSON to write.")
def main(
    only: Sequence[str], folders: Sequence[str], count: int, again: bool, seed: int,
    traced: Path | None, out: Path,
) -> None:  # fmt: skip
    """Put small faults into a copy of the tree and count those that a test notices.

    Example: python -m bench.small_faults.faults --only practice/finding --count 50 --out x.json
    """
    load_libraries()
    known = outcomes_in(out)
    if again:
        known = {key: outcome for key, outcome in known.items() if outcome != UNNOTICED}
    tried: list[Tried] = []
    started = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        tree = Copy(Path(folder))
        kept = traced or tree.root / "traced.json"
        known_tests = Passing.load(kept) if kept.exists() else None
        trial = Trial(tree, known_tests or trace(tree.root, kept, folders or FOLDERS))
        for file, fault in plan(files_of(only, tree.root), tree.root, count, seed):
            one = Tried(file=file, fault=fault, outcome="")
            if one.key in known:
                one = replace(one, outcome=known[one.key])
            else:
                one = trial.try_one(file, fault)
                click.echo(f"{file}:{fault.line} {fault.kind}: {one.outcome}", err=True)
                if one.outcome != UNNOTICED and len(tried) % 20 == 0:
                    trial.check(file, fault)
            tried.append(one)
            facts = provenance() | {
                "only": list(only), "tests": list(folders), "count": count, "seed": seed,
                "seconds": round(time.perf_counter() - started),
            }  # fmt: skip
            write_text(out, json.dumps({"made": facts} | as_data(tried), indent=1) + "\n")
    click.echo(table(tried))


if __name__ == "__main__":
    main()
