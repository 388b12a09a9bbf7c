"""``stackline compare``: two takes, or two sets of takes, side by side."""

import datetime
import json
import re
from collections.abc import Iterator
from pathlib import Path

import click

from stackline.options.hearing_options import ear_option
from stackline.options.output_file import output_file
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take

_DATES = re.compile(r"(\d{4}-\d\d-\d\d)\.\.(\d{4}-\d\d-\d\d)")


@click.command()
@click.argument("first", metavar="A")
@click.argument("second", metavar="B")
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
@click.option("--page", metavar="FILE", type=click.Path(path_type=Path),
              help="Write a page to read and print.")  # fmt: skip
@ear_option
@click.option("--library", "file", metavar="FILE", type=click.Path(path_type=Path),
              help="The library's file, instead of the usual one.")  # fmt: skip
def compare(
    first: str, second: str, as_json: bool, page: Path | None, ear: str, file: Path | None
) -> None:
    """Compare what two takes, or two sets of takes, use: shapes, top lines, tensions, keys.

    A and B are each a recording, a take's JSON, a folder of takes kept as JSON, or two dates
    of the library. What one does and the other never is shown with an example and a drill.

    \b
    Example:
      stackline compare mine.m4a hers.m4a
      stackline compare 2026-02-01..2026-02-28 2026-03-01..2026-03-31
    """
    from stackline.practice.comparing.comparison_text import render, to_data
    from stackline.practice.comparing.vocabulary_used import vocabulary_used

    if page is not None:
        output_file(page)
    one = vocabulary_used(_takes(first, ear, file), first)
    other = vocabulary_used(_takes(second, ear, file), second)
    if as_json:
        click.echo(json.dumps(to_data(one, other), indent=2, ensure_ascii=False))
    else:
        click.echo(render(one, other), nl=False)
    if page is not None:
        from stackline.practice.comparing.comparison_page import render as render_page
        from stackline.shared.files import write_text

        write_text(page, render_page(one, other))
        click.echo(f"wrote {page}", err=as_json)


def _takes(typed: str, ear: str, file: Path | None) -> Iterator[Take]:
    """The takes of one side; raises Complaint where there are none."""
    dates = _DATES.fullmatch(typed)
    if dates:
        yield from _of_days(dates[1], dates[2], file)
        return
    from stackline.options.take_source import take_from

    path = Path(typed)
    if not path.is_dir():
        yield take_from(path, ear=ear)
        return
    kept = sorted(path.glob("*.json"))
    if not kept:
        raise Complaint(
            f"{typed} holds no takes kept as JSON; write some with: stackline transcribe"
        )
    for one in kept:
        yield take_from(one, ear=ear)


def _of_days(first: str, last: str, file: Path | None) -> Iterator[Take]:
    """The library's takes of some days."""
    from stackline.practice.library.library import Library

    for day in (first, last):
        try:
            datetime.date.fromisoformat(day)
        except ValueError:
            raise Complaint(
                f"{day!r} is not a valid date: write year-month-day, 2026-03-09"
            ) from None
    with Library(file) as kept:
        found = [one for one in kept.entries() if first <= one.played_on <= last]
        if not found:
            raise Complaint(f"the library has no takes from {first} to {last}")
        for entry in found:
            yield kept.take(entry.id)
