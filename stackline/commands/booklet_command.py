"""``stackline booklet``: several takes printed as one booklet."""

from pathlib import Path

import click

from stackline.options.hearing_options import ear_option
from stackline.options.output_file import output_file
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take


@click.command()
@click.argument("takes", nargs=-1, required=True, metavar="TAKE...",
                type=click.Path(path_type=Path))  # fmt: skip
@click.option("-o", "--output", default="booklet.pdf", metavar="FILE", show_default=True,
              type=click.Path(path_type=Path), help="The PDF that is written.")  # fmt: skip
@click.option("--title", default="", metavar="TEXT", help="What stands on its first page.")
@ear_option
def booklet(takes: tuple[Path, ...], output: Path, title: str, ear: str) -> None:
    """Print takes as one booklet on A4, to hand out: each with its changes and its score.

    TAKE is a recording, a take's JSON, or a folder of takes kept as JSON. Its first page lists
    them all.

    \b
    Example:
      stackline booklet monday/*.json -o lesson.pdf --title "Comping, week 3"
    """
    from stackline.options.take_source import take_from
    from stackline.report.printed.booklet import render
    from stackline.report.words.marks import one_line
    from stackline.report.words.take_view import TakeView
    from stackline.shared.files import write_bytes

    paths = [path for typed in takes for path in _files(typed)]
    output_file(output, *paths)
    heard: list[Take] = [take_from(path, ear=ear) for path in paths]
    name = one_line(title) or ("One take" if len(heard) == 1 else f"{len(heard)} takes")
    write_bytes(output, render([TakeView(take) for take in heard], name))
    click.echo(f"wrote {output}")


def _files(typed: Path) -> list[Path]:
    """What is named: a file, or every take in a folder."""
    if not typed.is_dir():
        return [typed]
    kept = sorted(typed.glob("*.json"))
    if not kept:
        raise Complaint(f"{typed} holds no take kept as JSON; name recordings, or another folder")
    return kept
