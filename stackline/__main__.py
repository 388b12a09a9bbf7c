"""The front door: ``stackline`` and ``python -m stackline``.

Nothing else is imported before `stopping`, so that a signal while the program starts is one
sentence, too. Exit codes: 0 done, 1 nothing heard, 2 bad input or an output that
cannot be written, 130 interrupted.
"""

import os
import signal
import sys

from stackline.stopping import INTERRUPTED, SENTENCE, end_at_once, unwind

BAD_INPUT = 2  # exit code


def main() -> None:
    """Run the command; whatever a person can fix is one sentence."""
    end_at_once()
    _keep_streams()
    code = _run()
    for stop in (signal.SIGTERM, signal.SIGINT):
        signal.signal(stop, signal.SIG_IGN)  # all is done: nothing is left to be stopped
    try:
        sys.stdout.flush()
    except OSError:  # told already; Python would try once more
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    sys.exit(code)


def _run() -> int:
    try:
        from stackline.cli import run

        unwind()
        code = run()
        sys.stdout.flush()
        return code
    except KeyboardInterrupt:
        _print(SENTENCE)
        return INTERRUPTED
    except MemoryError:
        _say("there is not enough memory for this; close other programs, or give shorter takes")
    except UnicodeEncodeError:
        _say("a text that was given is not UTF-8; type it anew")
    except OSError as error:
        _say(f"{error.filename or 'cannot print'}: {error.strerror or error}")
    return BAD_INPUT


def _keep_streams() -> None:
    """Closed streams get a number, lest a file that is opened gets it and is printed into.

    What is printed on a closed one then fails and is told.
    """
    for name in ("stdin", "stdout", "stderr"):
        if getattr(sys, name) is None:
            number = os.open(os.devnull, os.O_RDONLY)
            setattr(sys, name, os.fdopen(number, "r" if name == "stdin" else "w", closefd=False))
    for out in (sys.stdout, sys.stderr):
        out.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]


def _say(sentence: str) -> None:
    _print(f"stackline: {sentence}")


def _print(line: str) -> None:
    try:
        print(line, file=sys.stderr, flush=True)
    except OSError:  # nobody listens any more
        return


if __name__ == "__main__":
    main()
