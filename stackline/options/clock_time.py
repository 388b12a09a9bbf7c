"""Times on the command line: seconds, or the clock as it is printed."""

import re

import click

_CLOCK = re.compile(r"(\d+):([0-5]?\d(?:\.\d+)?)")


class ClockTime(click.ParamType):
    """``27.2`` or ``0:27.2``; gives seconds."""

    name = "time"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Seconds from the start of the take; fails for anything else."""
        text = str(value).strip()
        found = _CLOCK.fullmatch(text)
        if found:
            return 60 * int(found[1]) + float(found[2])
        try:
            return float(text)
        except ValueError:
            self.fail(f"{text!r} is not a time: write seconds, 27.2, or the clock, 0:27.2")


CLOCK_TIME = ClockTime()
