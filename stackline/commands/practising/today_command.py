"""``stackline today``: what is due, in order, as a plan and as one file to play along with."""

import json
from pathlib import Path

import click

from stackline.options.output_file import output_file
from stackline.options.spelling_option import spell_option


@click.command()
@click.option("--minutes", default=20, show_default=True, help="How long you have, 5 to 120.")
@click.option("--midi", metavar="FILE", type=click.Path(path_type=Path),
              help="Write it all as one MIDI file, in this order.")  # fmt: skip
@click.option("--no-click", is_flag=True, help="No metronome in it.")
@click.option("--bass", default="roots", show_default=True, metavar="STYLE",
              help="The bass in it: roots, two, walk or off.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
@click.option("--library", "file", metavar="FILE", type=click.Path(path_type=Path),
              help="The library's file, instead of the usual one.")  # fmt: skip
@spell_option
def today(
    minutes: int, midi: Path | None, no_click: bool, bass: str, as_json: bool, file: Path | None
) -> None:
    """Plan today's practice from what the library knows: what is due, and one new key.

    A key is due 1, 2, 4, 8, then 16 days after clean passes, and the day after a miss. Keep
    passes with: stackline check TAKE ... --add

    \b
    Example:
      stackline today --minutes 30 --midi today.mid
    """
    import datetime

    from stackline.practice.drills.drill_bass import STYLES
    from stackline.practice.drills.drill_midi import render_all
    from stackline.practice.library.library import Library
    from stackline.practice.planning.plan import make_plan
    from stackline.practice.planning.plan_text import render, to_data
    from stackline.shared.complaint import Complaint
    from stackline.shared.files import write_bytes

    if bass not in (*STYLES, "off"):
        raise Complaint(f"--bass {bass!r}: allowed are {', '.join(STYLES)} and off")
    if midi is not None:
        output_file(midi)
    with Library(file) as kept:
        targets = kept.targets()
        if not targets:
            raise Complaint(
                "no passes are kept yet; keep some with: stackline check TAKE ... --add"
            )
        plan = make_plan(kept.store, targets, datetime.date.today(), minutes)
    if as_json:
        click.echo(json.dumps(to_data(plan), indent=2, ensure_ascii=False))
    else:
        click.echo(render(plan), nl=False)
    if midi is not None:
        if not plan.items:
            raise Complaint("nothing is due today, so there is nothing to write")
        drills = [one.drill for one in plan.items]
        write_bytes(midi, render_all(drills, click=not no_click, bass=bass))
        click.echo(f"wrote {midi}", err=as_json)
