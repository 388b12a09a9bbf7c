"""Functions called in a Python process of their own, while this one goes on.

Threads of one process take turns at the interpreter's lock: what is worked out beside the hearing
in a thread delays it by more than the work is worth. A process of its own does not. It runs at low
priority, so that it takes only what the hearing leaves free, and is started as a plain command
(no fork, no second run of the caller's script), the same way on Linux, macOS and Windows.

Function, arguments and result travel as pickles through the process's own pipes. Whatever goes
wrong over there, `result` raises `ApartError`, and the caller does the work itself: nothing
depends on whether a second Python can be started.
"""

import gc
import importlib
import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from types import TracebackType
from typing import Any

NICER_BY = 15  # of 19: a thirtieth of the share that others get of a busy core
_COMMAND = "from stackline.report.page.worker_process import serve; serve()"


class ApartError(Exception):
    """The other process could not be started, or gave no result."""


class Apart:
    """Calls in another process: start it, `give` it work, ask for the `result`, give it more.

    module: imported over there at once, while there is nothing to do yet. Leave the context
    to end the process, done or not.
    """

    def __init__(self, module: str) -> None:
        self._process = _started(module)

    def give(self, function: Callable[..., object], *arguments: object) -> None:
        """Hand work over, once the last result is taken; both must be fit to be pickled."""
        if self._process is None or self._process.stdin is None:
            return
        try:
            pickle.dump((function, arguments), self._process.stdin, pickle.HIGHEST_PROTOCOL)
            self._process.stdin.flush()
        except OSError:  # it has ended; `result` says so
            self.end()

    def result(self) -> Any:
        """What the function returned; waits for it. Raises ApartError."""
        if self._process is None or self._process.stdout is None:
            raise ApartError
        try:
            return pickle.load(self._process.stdout)
        except (OSError, EOFError, pickle.UnpicklingError) as error:
            raise ApartError from error

    def __enter__(self) -> "Apart":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 where: TracebackType | None) -> None:  # fmt: skip
        self.end()

    def end(self) -> None:
        """No process and no open pipe stays behind; there are no results any more."""
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                try:
                    pipe.close()
                except OSError:  # what was left to write has no reader any more
                    continue
        process.wait()


def _started(module: str) -> "subprocess.Popen[bytes] | None":
    """The other Python, with this one's import path; None where there is none to start."""
    if not sys.executable or getattr(sys, "frozen", False):
        return None
    path = os.pathsep.join(one or os.getcwd() for one in sys.path)
    try:
        return subprocess.Popen(
            [sys.executable, "-c", _COMMAND, module],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            env=os.environ | {"PYTHONPATH": path}, creationflags=_quietly(),
        )  # fmt: skip
    except OSError:
        return None


def _quietly() -> int:
    """Windows: low priority and no console window; elsewhere the process sees to itself."""
    if sys.platform == "win32":
        return subprocess.BELOW_NORMAL_PRIORITY_CLASS | subprocess.CREATE_NO_WINDOW
    return 0


def serve() -> None:
    """The other process: import; read work, do it, write the result, until there is no more."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # a library that prints must not write between the bytes of the result
    if sys.platform != "win32":
        os.nice(NICER_BY)
    gc.disable()  # it lives for a call or two; what it holds goes with it
    importlib.import_module(sys.argv[1])
    with out:
        while True:
            try:
                function, arguments = pickle.load(sys.stdin.buffer)
            except EOFError:
                return
            pickle.dump(function(*arguments), out, pickle.HIGHEST_PROTOCOL)
            out.flush()
