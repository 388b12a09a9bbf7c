"""How many small faults the tests notice.

``python -m bench.small_faults.faults --only practice/review``.

One fault of `fault_kinds` at a time is put into a copy of the tree, and the tests that mirror
the file's folder are run on it: first those named after the file, then the folder's, and
with ``--wide`` the whole room's. A fault is noticed when one of them fails or does not end. The
table by file is kept in ``results/faults.json``; the faults that went unnoticed stand in it
with their lines, as places where a test is owed.

The tests run in a fork of this process, which has the large libraries loaded already (so not on
Windows). Tests that do not pass without any fault are reported and end the run.
"""

import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import click
import numpy as np

from bench.scoring.provenance import ROOT, provenance
from bench.small_faults.fault_kinds import Fault, faults_in
from stackline.shared.files import write_text

ROOMS = ("theory", "practice", "listen", "shared", "report")
RESULTS = Path(__file__).parents[1] / "results" / "faults.json"
PATIENCE = 6.0  # times as long as without a fault, and
LEAST_S = 20.0  # at least so long, before tests count as not ending
LOG = "faults-tests.log"
NOTICED, UNNOTICED, ENDLESS = "noticed", "unnoticed", "endless"


@dataclass(frozen=True, kw_only=True)
class Tried:
    """One fault and what became of it."""

    file: str
    fault: Fault
    outcome: str


class Copy:
    """A copy of the tree to put faults into, and tests run on it."""

    def __init__(self, folder: Path) -> None:
        self.root = folder
        listed = subprocess.run(
            ["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, check=True,
            capture_output=True, text=True,
        )  # fmt: skip
        for name in listed.stdout.splitlines():
            source, there = ROOT / name, folder / name
            if source.is_file():
                there.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(source, there)

    @contextlib.contextmanager
    def with_fault(self, file: str, fault: Fault) -> Iterator[None]:
        """The fault in its place while it lasts, and no compiled file that hides it."""
        path = self.root / file
        before = path.read_text(encoding="utf-8")
        self._forget(path)
        path.write_text(fault.text, encoding="utf-8")
        try:
            yield
        finally:
            path.write_text(before, encoding="utf-8")
            self._forget(path)

    def _forget(self, path: Path) -> None:
        for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
            compiled.unlink()

    def tests(self, paths: Sequence[str], limit_s: float) -> str:
        """Run tests until one fails: noticed, unnoticed or endless."""
        child = os.fork()
        if child == 0:
            _run_tests(self.root, paths)
        end = time.monotonic() + limit_s
        while time.monotonic() < end:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                return UNNOTICED if os.waitstatus_to_exitcode(status) == 0 else NOTICED
            time.sleep(0.05)
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return ENDLESS


def _run_tests(root: Path, paths: Sequence[str]) -> None:
    """In the fork: the copy's own modules, quiet, nothing written."""
    os.setsid()
    os.chdir(root)
    quiet = os.open(root / LOG, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    for name in list(sys.modules):
        if name.split(".")[0] in ("stackline", "bench", "fixtures", "tests", "training"):
            del sys.modules[name]
    sys.path[:] = [str(root), *(one for one in sys.path if one not in ("", str(ROOT)))]
    sys.dont_write_bytecode = True
    import traceback

    import pytest

    code = 1
    try:
        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "--no-header", *paths]))
    except BaseException:
        traceback.print_exc()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


def mirrored(file: str, root: Path, *, wide: bool) -> list[list[str]]:
    """Which tests a fault in a file is tried on, one list after the other."""
    source = Path(file)
    room = Path("tests") / source.parts[0]
    folder = Path("tests") / source.parent
    while not any((root / folder).glob("test_*.py")) and folder != room:
        folder = folder.parent
    own = sorted((root / room).rglob(f"test_{source.stem}.py"))
    steps = [[str(one.relative_to(root)) for one in own], [str(folder)]]
    if wide and folder != room:
        steps.append([str(room)])
    return [one for one in steps if one]


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


def files_of(only: Sequence[str]) -> list[str]:
    """The product's files below some paths, all five rooms without any."""
    found: list[str] = []
    for place in only or ROOMS:
        path = ROOT / place
        here = [path] if path.is_file() else sorted(path.rglob("*.py"))
        found += [str(one.relative_to(ROOT)) for one in here if one.name != "__init__.py"]
    return list(dict.fromkeys(found))


class Trial:
    """Faults tried one after the other; the time that tests take without any is remembered."""

    def __init__(self, tree: Copy, *, wide: bool) -> None:
        self._tree, self._wide = tree, wide
        self._usual: dict[tuple[str, ...], float] = {}

    def try_one(self, file: str, fault: Fault) -> Tried:
        steps = mirrored(file, self._tree.root, wide=self._wide)
        limits = [self._limit(step) for step in steps]
        outcome = UNNOTICED
        with self._tree.with_fault(file, fault):
            for step, limit in zip(steps, limits, strict=True):
                outcome = self._tree.tests(step, limit)
                if outcome != UNNOTICED:
                    break
        return Tried(file=file, fault=fault, outcome=outcome)

    def _limit(self, step: Sequence[str]) -> float:
        key = tuple(step)
        if key not in self._usual:
            started = time.monotonic()
            if self._tree.tests(step, 1200.0) != UNNOTICED:
                log = (self._tree.root / LOG).read_text(encoding="utf-8", errors="replace")
                raise click.ClickException(
                    f"{' '.join(step)} does not pass without a fault:\n{log[-2000:]}"
                )
            self._usual[key] = time.monotonic() - started
        return max(LEAST_S, PATIENCE * self._usual[key])


def table(tried: Sequence[Tried]) -> str:
    """By file: faults and how many were noticed; then what was not."""
    lines = ["file | noticed | faults", "---|---|---"]
    for file in dict.fromkeys(one.file for one in tried):
        here = [one for one in tried if one.file == file]
        seen = sum(one.outcome != UNNOTICED for one in here)
        lines.append(f"{file} | {seen} | {len(here)}")
    seen = sum(one.outcome != UNNOTICED for one in tried)
    lines += ["", f"noticed {seen} of {len(tried)}", ""]
    lines += [
        f"{one.file}:{one.fault.line} {one.fault.kind}: {one.fault.was}  ->  {one.fault.now}"
        for one in tried
        if one.outcome == UNNOTICED
    ]
    return "\n".join(lines) + "\n"


def as_data(tried: Sequence[Tried]) -> dict[str, object]:
    """The table as plain data."""
    rows = {}
    for file in dict.fromkeys(one.file for one in tried):
        here = [one for one in tried if one.file == file]
        missed = [one.fault for one in here if one.outcome == UNNOTICED]
        rows[file] = {
            "faults": len(here),
            "noticed": len(here) - len(missed),
            "unnoticed": [{"line": one.line, "kind": one.kind, "was": one.was, "now": one.now}
                          for one in missed],
        }  # fmt: skip
    seen = sum(one.outcome != UNNOTICED for one in tried)
    return {"faults": len(tried), "noticed": seen, "files": rows}


def _load_libraries() -> None:
    """What tests import and faults never touch."""
    import jinja2  # noqa: F401
    import pytest  # noqa: F401
    import scipy.optimize
    import scipy.signal  # noqa: F401


@click.command()
@click.option("--only", multiple=True, metavar="PATH", help="A file or folder; may be repeated.")
@click.option("--sample", type=click.IntRange(1), default=3, show_default=True,
              help="Faults a file, at most.")  # fmt: skip
@click.option("--wide", is_flag=True, help="Try what its folder missed on the room's tests, too.")
@click.option("--seed", default=0, show_default=True)
@click.option("--out", type=click.Path(path_type=Path), default=RESULTS, help="The JSON to write.")
def main(only: Sequence[str], sample: int, wide: bool, seed: int, out: Path) -> None:
    """Put small faults into a copy of the tree and count those that a test notices.

    Example: python -m bench.small_faults.faults --only practice/finding --sample 10
    """
    _load_libraries()
    rng = np.random.default_rng(seed)
    tried: list[Tried] = []
    started = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        tree = Copy(Path(folder))  # work may go on in the tree meanwhile
        trial = Trial(tree, wide=wide)
        for file in files_of(only):
            text = (tree.root / file).read_text(encoding="utf-8")
            here = [trial.try_one(file, fault) for fault in chosen(text, sample, rng)]
            tried += here
            seen = sum(one.outcome != UNNOTICED for one in here)
            click.echo(f"{file}: {seen} of {len(here)}", err=True)
    facts = provenance() | {"only": list(only), "sample": sample, "seed": seed, "wide": wide,
                            "seconds": time.perf_counter() - started}  # fmt: skip
    write_text(out, json.dumps({"made": facts} | as_data(tried), indent=1) + "\n")
    click.echo(table(tried))


if __name__ == "__main__":
    main()
