"""Options of all commands that hear: the ear, and whether a line over the comping is looked for."""

from collections.abc import Callable
from typing import Literal, TypeVar

import click

from stackline.ears import DEFAULT_EAR, EARS

Line = Literal["auto", "none"]
Command = TypeVar("Command", bound=Callable[..., object])


def ear_option(command: Command) -> Command:
    """Give a command ``--ear``."""
    return click.option(
        "--ear", type=click.Choice(list(EARS)), default=DEFAULT_EAR, show_default=True,
        help="What turns sound into notes.",
    )(command)  # fmt: skip


def line_option(command: Command) -> Command:
    """Give a command ``--line``."""
    return click.option(
        "--line", type=click.Choice(["auto", "none"]), default="auto", show_default=True,
        help="Keep a line over the comping out of the voicings; none: every note is comped.",
    )(command)  # fmt: skip
