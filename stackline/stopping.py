"""Stopping the program while it starts: one sentence, whatever is being imported.

Until the command line is imported nothing is open, so the process ends at once. From then on a stop
unwinds, and what is half-written is removed. Before this file runs, Python itself is starting, and
what it says then is its own. A program that only imports stackline keeps its own signals.
"""

import os
import signal
import sys

INTERRUPTED = 130  # exit code: 128 and SIGINT's number
SENTENCE = "stackline: interrupted; nothing half-written was left"


def is_the_command() -> bool:
    """Whether this process is ``stackline`` or ``python -m stackline``, not one that imports it."""
    if sys.argv[:1] == ["-m"]:
        return "stackline" in sys.orig_argv
    return os.path.basename(sys.argv[0] if sys.argv else "").startswith("stackline")


def end_at_once() -> None:
    """While starting: a signal ends the process with the sentence."""
    for stop in (signal.SIGINT, signal.SIGTERM):
        signal.signal(stop, _end)


def unwind() -> None:
    """Afterwards: a polite kill unwinds like an interrupt, so that temporary files are removed."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGTERM, _raise)


def _end(signum: int, frame: object) -> None:
    try:
        os.write(2, f"{SENTENCE}\n".encode())
    finally:
        os._exit(INTERRUPTED)


def _raise(signum: int, frame: object) -> None:
    raise KeyboardInterrupt
