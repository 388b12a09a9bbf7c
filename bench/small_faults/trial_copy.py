"""A copy of the tree to put faults into, and tests run on it in a fork.

The fork has the large libraries loaded already, so a trial begins at once (and not on Windows).
"""

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from bench.scoring.provenance import ROOT
from bench.small_faults.fault_kinds import Fault

LOG = "faults-tests.log"
NOTICED, UNNOTICED, ENDLESS = "noticed", "unnoticed", "endless"


class Copy:
    """The files of the tree under `root`; work may go on in the tree meanwhile."""

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

    def tests(self, tests: Sequence[str], limit_s: float) -> str:
        """Run tests until one fails: noticed, unnoticed or endless."""
        child = os.fork()
        if child == 0:
            _run_tests(self.root, tests)
        end = time.monotonic() + limit_s
        while time.monotonic() < end:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                return UNNOTICED if os.waitstatus_to_exitcode(status) == 0 else NOTICED
            time.sleep(0.05)
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return ENDLESS

    def log(self) -> str:
        """What the last tests wrote, its end."""
        return (self.root / LOG).read_text(encoding="utf-8", errors="replace")[-2000:]


def _run_tests(root: Path, tests: Sequence[str]) -> None:
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
        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "--no-header", *tests]))
    except BaseException:
        traceback.print_exc()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


def load_libraries() -> None:
    """What tests import and faults never touch."""
    import jinja2  # noqa: F401
    import pytest  # noqa: F401
    import scipy.optimize
    import scipy.signal  # noqa: F401
