"""Install stackline as a user does, on the Pythons of this machine, and try it.

    python scripts/try_installs.py            oldest and newest Python, lowest versions
    python scripts/try_installs.py --all      every Python that is found
    python scripts/try_installs.py --lowest   print the lowest versions that pyproject allows

Each goes into a virtual environment of its own in a temporary folder: ``pip install .``,
``stackline demo --no-open``, ``stackline doctor``, and a short set of tests against what was
installed (not against the tree). Ends with a table of seconds and sizes, and with 1 if any failed.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
VERSIONS = ("3.11", "3.12", "3.13", "3.14")
PLACES = ("~/.pyenv/versions/{}*/bin/python", "/opt/python/{}*/bin/python",
          "/usr/local/bin/python{}", "/opt/homebrew/bin/python{}")  # fmt: skip
TEST_LIBRARIES = ("pytest", "hypothesis", "soundfile")
SHORT_TESTS = (
    "tests/shared/test_codec.py", "tests/shared/test_files.py", "tests/shared/test_shared.py",
    "tests/listen/recording/test_decode.py", "tests/listen/recording/test_damage.py",
    "tests/listen/test_hearing.py",
    "tests/theory/test_reading_warmup.py", "tests/report/files/test_report_table.py",
    "tests/report/notation/test_engraving.py", "tests/practice/library", "tests/practice/targets",
)  # fmt: skip
_LOWEST = re.compile(r"([A-Za-z0-9_.-]+)(?:\[[^]]*\])?\s*>=\s*([0-9.]+)")


def pythons() -> dict[str, Path]:
    """The Pythons of this machine that start, by version."""
    found = {}
    for version in VERSIONS:
        on_path = shutil.which(f"python{version}")
        places = [Path(on_path)] if on_path else []
        for pattern in PLACES:
            whole = Path(pattern.format(version)).expanduser()
            places += sorted(Path(whole.anchor).glob(str(whole.relative_to(whole.anchor))))
        working = (place for place in places if _starts(place, version))
        if (first := next(working, None)) is not None:
            found[version] = first
    return found


def _starts(python: Path, version: str) -> bool:
    """Whether it is that version and can make virtual environments (a shim may be neither)."""
    words = "import sys, venv, ensurepip; print('%d.%d' % sys.version_info[:2])"
    done = subprocess.run([python, "-c", words], capture_output=True, text=True, check=False)
    return done.returncode == 0 and done.stdout.strip() == version


def lowest() -> list[str]:
    """``name==version`` for each library that is installed, at its lower bound."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["pdf"]]
    bounds = [_LOWEST.match(one) for one in asked]
    if None in bounds:
        raise SystemExit(f"a library without a lower bound: {asked[bounds.index(None)]}")
    return [f"{one[1]}=={one[2]}" for one in bounds if one]


def attempt(python: Path, folder: Path, *, held: bool) -> str:
    """One row of the table; raises CalledProcessError where something fails.

    held: at the lowest versions.
    """
    started = time.monotonic()
    subprocess.run([python, "-m", "venv", folder / "venv"], check=True)
    inside = folder / "venv" / ("Scripts" if os.name == "nt" else "bin")
    extra = []
    if held:
        (folder / "lowest.txt").write_text("\n".join(lowest()) + "\n")
        extra = ["-c", folder / "lowest.txt", "--only-binary", ":all:"]
    pip = [inside / "python", "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    subprocess.run([*pip, *extra, f"{ROOT}[pdf]" if held else ROOT], check=True)
    installed_s, size = time.monotonic() - started, _megabytes(folder / "venv")
    started = time.monotonic()
    _try_it(inside, folder)
    demo_s = time.monotonic() - started
    subprocess.run([*pip, *TEST_LIBRARIES], check=True)
    for name in ("tests", "fixtures", "pyproject.toml"):  # without the tree's own stackline
        source, copy = ROOT / name, folder / "tree" / name
        copy.parent.mkdir(exist_ok=True)
        shutil.copytree(source, copy) if source.is_dir() else shutil.copy(source, copy)
    started = time.monotonic()
    words = [inside / "python", "-m", "pytest", "-q", "-p", "no:cacheprovider", *SHORT_TESTS]
    subprocess.run(words, cwd=folder / "tree", check=True)
    tests_s = time.monotonic() - started
    return f"| {installed_s:.0f} | {size} | {demo_s:.1f} | {tests_s:.0f} |"


def _try_it(inside: Path, folder: Path) -> None:
    """The demo, which must write its three files, and the doctor, who must find nothing missing."""
    command = inside / "stackline"
    subprocess.run([command, "demo", "--no-open", "-o", folder / "out"], cwd=folder, check=True,
                   stdout=subprocess.DEVNULL)  # fmt: skip
    written = sorted(path.name for path in (folder / "out").iterdir())
    if written != ["warmup.html", "warmup.json", "warmup.mid"]:
        raise SystemExit(f"the demo wrote {written}")
    subprocess.run([command, "doctor"], cwd=folder, check=True)


def _megabytes(folder: Path) -> int:
    return sum(path.lstat().st_size for path in folder.rglob("*") if path.is_file()) // 10**6


def main() -> None:
    """Try them, one after another; say what was not found."""
    if "--lowest" in sys.argv:
        print("\n".join(lowest()))
        return
    found = pythons()
    missing = [version for version in VERSIONS if version not in found]
    if not found:
        raise SystemExit(f"none of Python {', '.join(VERSIONS)} was found")
    print(f"found: {', '.join(found)}; not found: {', '.join(missing) or 'none'}", flush=True)
    ends = list(found) if "--all" in sys.argv else list(dict.fromkeys([min(found), max(found)]))
    tries = [(version, False) for version in ends] + [(min(found), True)]
    rows, failed = [], False
    for version, held in tries:
        name = f"{version}{', lowest versions' if held else ''}"
        print(f"+ Python {name}", flush=True)
        with tempfile.TemporaryDirectory(prefix="stackline-try-") as folder:
            try:
                rows.append(f"| {name} {attempt(found[version], Path(folder), held=held)}")
            except subprocess.CalledProcessError as error:
                rows.append(f"| {name} | failed: {error} | | | |")
                failed = True
    print("| Python | install, s | MB | demo and doctor, s | tests, s |\n|---|---|---|---|---|")
    print("\n".join(rows))
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
