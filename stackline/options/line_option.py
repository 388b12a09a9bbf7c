"""The option that says whether a line over the comping is looked for."""

from collections.abc import Callable
from typing import Literal, TypeVar

import click

Line = Literal["auto", "none"]
Command = TypeVar("Command", bound=Callable[..., object])


def line_option(command: Command) -> Command:
    """Give a command ``--line``."""
    return click.option(
        "--line", type=click.Choice(["auto", "none"]), default="auto", show_default=True,
        help="Keep a line over the comping out of the voicings; none: every note is comped.",
    )(command)  # fmt: skip
