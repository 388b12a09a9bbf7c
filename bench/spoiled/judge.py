"""Run a command on bad input in a process of its own, and say what came of it."""

import json
import os
import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from bench.spoiled.case import KEPT, OUT, Case
from stackline.shared.codec.codec_read import from_json
from stackline.shared.complaint import Complaint

LONGEST_S = 30.0
LARGEST = 50 * 2**20  # bytes; what is larger is not compared, it would count as the child's memory
INTERRUPTED = 130


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What came of a case.

    verdict: "done", "nothing heard", "told" (a sentence and a code that is not 0), or a fault:
    "traceback", "silent" (a code without a sentence), "hung", "died", "damaged" (an output that
    is not whole, a temporary file left, something of the player's changed).
    """

    case: Case
    verdict: str
    words: tuple[str, ...]
    errors: str
    seconds: float
    peak_mb: float


FAULTS = ("traceback", "silent", "hung", "died", "damaged")


def the_command() -> None:
    """Run what ``stackline`` runs, on sys.argv."""
    from stackline.__main__ import main

    main()


def judge(case: Case, folder: Path, run: Callable[[], object] = the_command) -> Outcome:
    """Make a case in an empty folder, run it there, and look at what is left."""
    (folder / OUT).mkdir()
    words = case.words(folder)
    files = [path for path in folder.iterdir() if path.is_file()]
    before = {path: path.read_bytes() for path in files if path.stat().st_size < LARGEST}
    began = time.monotonic()
    child = os.fork()
    if child == 0:
        _be_the_command(words, folder, run)
    code, peak_mb = _waited_for(child)
    seconds = time.monotonic() - began
    errors = (folder / "stderr").read_text(encoding="utf-8", errors="replace")
    verdict = _verdict(code, errors)
    if verdict not in FAULTS and (fault := _damage(folder, before, words, verdict)):
        verdict, errors = "damaged", f"{fault}\n{errors}"
    return Outcome(case=case, verdict=verdict, words=tuple(words), errors=errors, seconds=seconds,
                   peak_mb=peak_mb)  # fmt: skip


def _be_the_command(words: list[str], folder: Path, run: Callable[[], object]) -> None:
    """The child: never returns."""
    code = 1
    try:
        os.chdir(folder)
        os.environ["STACKLINE_HOME"] = str(folder / "home")
        os.environ["TMPDIR"] = str(folder)
        for number, name in ((1, "stdout"), (2, "stderr")):
            os.dup2(os.open(name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666), number)
            setattr(sys, name, os.fdopen(number, "w", encoding="utf-8", errors="surrogateescape"))
        sys.argv = ["stackline", *words]
        run()
        code = 0
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _waited_for(child: int) -> tuple[int | None, float]:
    """Exit code (None where it hung, negative for a signal) and highest resident memory, MB."""
    end = time.monotonic() + LONGEST_S
    while time.monotonic() < end:
        pid, status, usage = os.wait4(child, os.WNOHANG)
        if pid:
            return os.waitstatus_to_exitcode(status), _mb(usage)
        time.sleep(0.002)
    os.kill(child, signal.SIGKILL)
    _, _, usage = os.wait4(child, 0)
    return None, _mb(usage)


def _mb(usage: resource.struct_rusage) -> float:
    return usage.ru_maxrss / 1024


def _verdict(code: int | None, errors: str) -> str:
    if code is None:
        return "hung"
    if "Traceback (most recent call last)" in errors or "Exception ignored" in errors:
        return "traceback"
    if code < 0 or code == INTERRUPTED:
        return "died"
    if code == 1:
        return "nothing heard"
    if code == 0:
        return "done"
    return "told" if errors.strip() else "silent"


def _damage(folder: Path, before: dict[Path, bytes], words: list[str], verdict: str) -> str:
    """What is not whole, or not as it was; empty where all is well."""
    for path in folder.rglob(".stackline-*"):
        return f"{path.name} was left behind"
    for path in folder.glob("stackline-*"):
        if path.is_file():
            return f"{path.name} was left behind"
    meant = {folder / word for word in words}
    for path, data in before.items():
        untouched = path.name == KEPT or verdict == "told" or path not in meant
        if path.name.startswith("library.db") or path.suffix == ".toml":
            untouched = path.suffix == ".toml" and verdict == "told"
        if untouched and (not path.exists() or path.read_bytes() != data):
            return f"{path.name} is not what it was"
    return _half_written(folder / OUT)


def _half_written(out: Path) -> str:
    for path in out.rglob("*"):
        if path.is_dir() or path.stat().st_size == 0:
            continue
        data = path.read_bytes()
        if path.suffix == ".json" and (fault := _json_fault(data)):
            return f"{path.name}: {fault}"
        if path.suffix == ".html" and not data.rstrip().endswith(b"</html>"):
            return f"{path.name} has no end"
        if path.suffix == ".mid" and not data.endswith(b"\xff\x2f\x00"):
            return f"{path.name} has no end of its last track"
    return ""


def _json_fault(data: bytes) -> str:
    try:
        text = data.decode("utf-8")
        if "attacks" in json.loads(text):
            from_json(text)
    except (ValueError, Complaint) as fault:
        return str(fault)
    return ""
