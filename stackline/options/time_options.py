"""The options by which a player says what he knows of a recording's time."""

from collections.abc import Callable
from typing import TypeVar

import click

from stackline.options.clock_time import CLOCK_TIME

Command = TypeVar("Command", bound=Callable[..., object])

_TEMPO = click.option(
    "--tempo", type=float, metavar="BPM", help="Beats a minute, if you know them."
)
_METER = click.option("--meter", metavar="4/4", help="Beats in a bar, 2/4 to 7/4.")
_FIRST_BEAT = click.option(
    "--first-beat",
    type=CLOCK_TIME,
    metavar="TIME",
    help="When beat one of the first bar is: 2.4 seconds, or the clock, 0:02.4.",
)
_COUNT_IN = click.option(
    "--count-in", type=int, metavar="BEATS", help="How many clicks or claps are counted before it."
)


def time_options(command: Command) -> Command:
    """Give a command ``--tempo``, ``--meter``, ``--first-beat`` and ``--count-in``."""
    for option in (_COUNT_IN, _FIRST_BEAT, _METER, _TEMPO):
        command = option(command)
    return command
