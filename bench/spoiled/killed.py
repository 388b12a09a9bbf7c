"""A process that is killed at a random moment, and the takes that it keeps."""

import multiprocessing
import os
import signal
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from bench.spoiled.sound_things import sound_take
from stackline.shared.take import Take

Work = Callable[[Path, int], None]


def numbered(number: int) -> Take:
    """The bundled recording's take under another name and digest."""
    source = replace(sound_take().source, name=f"take-{number}.wav", sha256=f"{number:064x}")
    return replace(sound_take(), source=source)


def killed_while(work: Work, folder: Path, first: int, wait_s: float) -> list[int]:
    """What a process said to have done, from `first` on, before it was killed."""
    reader, writer = os.pipe()
    worker = multiprocessing.get_context("fork").Process(
        target=_work_on, args=(work, folder, first, writer)
    )
    worker.start()
    os.close(writer)
    said = os.read(reader, 4)
    time.sleep(wait_s)
    if worker.pid is not None:
        os.kill(worker.pid, signal.SIGKILL)
    worker.join()
    said += os.read(reader, 1 << 16)
    os.close(reader)
    return [int.from_bytes(said[i : i + 4], "little") for i in range(0, len(said), 4)]


def _work_on(work: Work, folder: Path, first: int, told: int) -> None:
    number = first
    while True:
        work(folder, number)
        os.write(told, number.to_bytes(4, "little"))
        number += 1
