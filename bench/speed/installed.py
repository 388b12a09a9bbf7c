"""What an install weighs, and how long it lets a player wait: ``python -m bench.speed.installed``.

For each Python that is named, a fresh environment, the project installed by pip from a clone, and
then the extra for PDFs. Size: all files below site-packages, less pip's own. Times, of which the
median and the best of a number of rounds count, each in a fresh process on files that are in the
system's cache: ``stackline --help`` as a whole, and the study sheet of a ready take, from the
first import for it to the bytes of the PDF, typst's import included, on the clock and in time of
the processor (on a busy machine the second is the one to read). The take is the bundled
recording's, heard by the piano ear.

Results go to bench/results/installed.json.
"""

import json
import os
import resource
import subprocess
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from statistics import median

import click

from bench.scoring.provenance import provenance
from stackline.shared.files import write_text

ROOT = Path(__file__).parents[2]
RESULTS = ROOT / "bench" / "results" / "installed.json"
ROUNDS = 15
SHEET = """
import sys, time
from pathlib import Path
from stackline import from_json
take = from_json(Path(sys.argv[1]).read_text(encoding="utf-8"))
clock, cores = time.perf_counter(), time.process_time()
from stackline.report.printed.{module} import render
from stackline.report.words.take_view import TakeView
render(TakeView(take))
print(time.perf_counter() - clock, time.process_time() - cores)
"""
SHEETS = {"sheet": "sheet_file", "grid": "changes_sheet", "pdf": "pdf_file"}


def megabytes(environment: Path) -> float:
    """Of everything that was installed, in millions of bytes."""
    (packages,) = environment.glob("lib/python*/site-packages")
    files = (path for path in packages.rglob("*") if path.is_file() and not path.is_symlink())
    own = sum(
        path.stat().st_size
        for path in files
        if not path.relative_to(packages).parts[0].startswith(("pip", "setuptools"))
    )
    return round(own / 1e6, 1)


def said(*command: str | Path) -> str:
    """What a command prints; raises CalledProcessError if it fails."""
    outside = {"PYTHONPATH": "", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
    done = subprocess.run(
        command, capture_output=True, text=True, check=True, env=os.environ | outside, cwd="/"
    )
    return done.stdout


def help_s(environment: Path) -> dict[str, float]:
    """``stackline --help``, from the shell and back, in seconds."""
    rows = []
    for _ in range(ROUNDS + 1):
        clock, cores = time.perf_counter(), _cores()
        said(environment / "bin" / "stackline", "--help")
        rows.append((time.perf_counter() - clock, _cores() - cores))
    return _times(rows[1:])


def _cores() -> float:
    """Time of the processor that ended processes have taken, in seconds."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _times(rows: Sequence[tuple[float, ...]]) -> dict[str, float]:
    """Of rows on the clock and of the processor."""
    return {
        "median_s": round(median(row[0] for row in rows), 3),
        "best_s": round(min(row[0] for row in rows), 3),
        "cores_s": round(median(row[1] for row in rows), 3),
    }


def sheet_s(environment: Path, take: Path, module: str) -> dict[str, float]:
    """One printed sheet in a fresh process, in seconds."""
    program = SHEET.format(module=module)
    rows = [
        tuple(map(float, said(environment / "bin" / "python", "-c", program, take).split()))
        for _ in range(ROUNDS + 1)
    ]
    return _times(rows[1:])


def measure(python: str, folder: Path) -> dict[str, object]:
    """Install with one Python and take every figure."""
    environment = folder / "environment"
    said(python, "-m", "venv", environment)
    pip = environment / "bin" / "pip"
    said(pip, "install", "-q", ROOT)
    found: dict[str, object] = {
        "python": said(python, "-c", "import platform; print(platform.python_version())").strip(),
        "megabytes": megabytes(environment),
    }
    found["help"] = help_s(environment)
    said(pip, "install", "-q", f"{ROOT}[pdf]")
    found["megabytes_with_pdf"] = megabytes(environment)
    out = folder / "out"
    recording = ROOT / "fixtures" / "warmup.m4a"
    said(environment / "bin" / "stackline", "transcribe", recording, "-o", out, "--formats", "json")
    for name, module in SHEETS.items():
        found[name] = sheet_s(environment, out / "warmup.json", module)
    found["versions"] = said(pip, "freeze", "--exclude", "stackline").split()
    return found


@click.command()
@click.option("--python", "pythons", multiple=True, required=True, help="A Python to install with.")
@click.option("--out", type=click.Path(path_type=Path), default=RESULTS, show_default=True)
def main(pythons: tuple[str, ...], out: Path) -> None:
    """Install the project afresh and measure it.

    Example: python -m bench.speed.installed --python python3.11 --python python3.13
    """
    rows = []
    for python in pythons:
        with tempfile.TemporaryDirectory() as folder:
            rows.append(measure(python, Path(folder)))
        click.echo(json.dumps({k: v for k, v in rows[-1].items() if k != "versions"}))
    result = {"load_average": round(os.getloadavg()[0], 2), "installs": rows} | provenance()
    write_text(out, json.dumps(result, indent=2) + "\n")


if __name__ == "__main__":
    main()
