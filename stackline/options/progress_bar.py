"""Progress on the terminal's error stream: a bar for people, nothing for pipes."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stackline.listen.ear import Progress


@contextmanager
def shown(title: str) -> "Iterator[Progress]":
    """Give a progress callback that draws a bar while the block runs.

    title: what is being worked on, usually the file's name. Draws only where the error
    stream is a terminal, so that logs and pipes stay clean.
    """
    if not sys.stderr.isatty():
        from stackline.listen.ear import silent

        yield silent
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn(escape(title)),
        TextColumn("{task.description}"),
        BarColumn(),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("starting", total=1.0)

        def update(stage: str, fraction: float) -> None:
            # short of the end, where the bar would stop its clock before the next stage
            bars.update(task, description=stage, completed=0.999 * fraction)

        yield update
