"""``stackline library search``: voicings over all takes."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.commands.library.library_group import AS_JSON, FILE, library, opened
from stackline.options.output_file import output_file
from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.practice.library.searching import Found


@library.command()
@click.option("--structure", metavar="NAME", help="A kind of voicing, or a part of its name.")
@click.option(
    "--chord", metavar="CHORD", help="A symbol, G13(b9), or a quality on any root, 13(b9)."
)
@click.option("--stack", metavar="DEGREES", help='Degrees low to high, "3 13 b7 9".')
@click.option("--key", metavar="KEY", help="The key that a cadence says.")
@click.option(
    "--top",
    "move",
    metavar="MOVE",
    help='How the top line moved into it: "+2" semitones, or degrees, "9 > 13".',
)
@click.option("--like", metavar="TAKE:PLACE", help="The same shape as a voicing, in any key.")
@click.option(
    "--limit", default=50, show_default=True, type=click.IntRange(1), help="Most to show."
)
@click.option("--page", metavar="FILE", type=click.Path(path_type=Path),
              help="Write a page on which what was found can be heard.")  # fmt: skip
@AS_JSON
@FILE
def search(
    structure: str | None,
    chord: str | None,
    stack: str | None,
    key: str | None,
    move: str | None,
    like: str | None,
    limit: int,
    page: Path | None,
    as_json: bool,
    file: Path | None,
) -> None:
    """Find voicings over all takes; everything asked for must hold.

    \b
    Example:
      stackline library search --chord "13(b9)" --top "-1"
      stackline library search --like 3:12
      stackline library search --structure "drop 2" --page drop2.html
    """
    from dataclasses import asdict

    from stackline.practice.library.searching import Query
    from stackline.practice.library.searching import search as find

    query = Query(
        structure=structure, chord=chord, stack=stack, key=key, move=move, like=_like(like)
    )
    if page is not None:
        output_file(page)
    with opened(file) as kept:
        found = find(kept.store, query, limit=limit)
        if page is not None:
            from stackline.practice.library.found_page import render
            from stackline.shared.files import write_text

            asked = " ".join(str(one) for one in asdict(query).values() if one is not None)
            write_text(page, render(found, kept.store, asked))
    if as_json:
        click.echo(json.dumps(asdict(found), indent=2, ensure_ascii=False))
    else:
        _print_found(found)
        if move is not None and found.voicings:
            click.echo(f"{move} is how the top line came from the voicing before")


def _like(typed: str | None) -> tuple[int, int] | None:
    if typed is None:
        return None
    take, _, place = typed.partition(":")
    if not (take.isdecimal() and place.isdecimal() and len(typed) < 30):
        raise Complaint(f"--like {typed!r}: write take and place as a search shows them, 3:12")
    return int(take), int(place)


def _print_found(found: "Found") -> None:
    from stackline.practice.columns import columns, plural
    from stackline.practice.targets.numerals import key_name
    from stackline.report.words.marks import one_line
    from stackline.shared.units import clock

    rows = [
        (f"{hit.take_id}:{hit.place}", one_line(hit.take), hit.played_on, clock(hit.onset_s),
         hit.symbol, hit.stack, "-" if hit.key is None else key_name(hit.key),
         "?" if hit.confidence < 0.8 else "")
        for hit in found.hits
    ]  # fmt: skip
    if rows:
        heads = ("place", "take", "played on", "at", "chord", "stack", "key", "sure")
        click.echo(columns(heads, rows), nl=False)
    shown = f", {len(rows)} shown" if len(rows) < found.voicings else ""
    click.echo(f"{plural(found.voicings, 'voicing')} in {plural(found.takes, 'take')}{shown}")
