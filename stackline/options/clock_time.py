"""Times and places on the command line, as they are printed."""

import re
from typing import TYPE_CHECKING

import click

from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.report.words.place_reading import Place
    from stackline.shared.take import Take

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


class PlaceType(click.ParamType):
    """A place in a take in any spelling of `place_reading`."""

    name = "place"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> "Place":
        """The place as typed; `at` says when it is in a take."""
        from stackline.report.words.place_reading import read_place

        try:
            return read_place(str(value))
        except Complaint as complaint:
            self.fail(str(complaint), param, ctx)


PLACE = PlaceType()


def at(place: "Place | None", take: "Take") -> float | None:
    """When a place of a take is, in seconds; None without one."""
    from stackline.report.words.place_reading import seconds_of

    return None if place is None else seconds_of(place, take)
