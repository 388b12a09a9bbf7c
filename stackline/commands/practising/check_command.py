"""``stackline check``: did it land, in every key?"""

import json
import sys
from pathlib import Path

import click

from stackline.options.hearing_options import Line, ear_option, line_option
from stackline.options.hints import read_time
from stackline.options.output_file import output_file, printed
from stackline.options.spelling_option import spell_option
from stackline.options.target_choice import chosen_target
from stackline.options.time_options import time_options
from stackline.shared.complaint import Complaint

NOTHING_FOUND = 1  # exit code


@click.command()
@click.argument("take", metavar="TAKE", type=click.Path(path_type=Path))
@click.option("--changes", metavar="TEXT|FILE",
              help="What was to be played: chords, degrees of a key, or stacks.")  # fmt: skip
@click.option("--target", metavar="NAME|FILE", help="Or a target by name, or from a file.")
@click.option("--key", metavar="KEY", help="The key that the chords are written in.")
@click.option("--every", is_flag=True, help="Show each voicing of each pass.")
@click.option("--json", "json_to", metavar="FILE|-", help="Write the facts as JSON; - prints them.")
@click.option("--page", metavar="FILE", type=click.Path(path_type=Path),
              help="Write a page to read and print.")  # fmt: skip
@ear_option
@time_options
@spell_option
@line_option
@click.option("--add", is_flag=True, help="Keep take and passes in the library.")
@click.option("--on", "played_on", metavar="DATE",
              help="With --add: when it was played, 2026-03-09.")  # fmt: skip
@click.option("--note", default="", help="With --add: a remark to keep with it.")
@click.option("--library", "library_file", metavar="FILE", type=click.Path(path_type=Path),
              help="The library's file, instead of the usual one.")  # fmt: skip
def check(
    take: Path,
    changes: str | None,
    target: str | None,
    key: str | None,
    every: bool,
    json_to: str | None,
    page: Path | None,
    ear: str,
    tempo: float | None,
    meter: str | None,
    first_beat: float | None,
    count_in: int | None,
    line: Line,
    add: bool,
    played_on: str | None,
    note: str,
    library_file: Path | None,
) -> None:
    """Find every pass of a target in a take, and say what landed in which key.

    TAKE is a recording, or a take's JSON from an earlier run. Passes may come in any key,
    order and tempo; false starts are told apart.

    Without --changes and --target the recording is taken as a session: it is cut into sections at
    rests, talk and changes of tempo, meter or material, and each is looked through for the
    targets that are known (yours, those of the library, the built-in ones). --every then shows each
    pass of what is recognised; --add keeps what is recognised at 0.9 and more, and asks about
    the rest.

    \b
    Example:
      stackline check evening.m4a --page evening.html --add
      stackline check monday.m4a --changes "Dm9 | G13(b9) | C6/9"
      stackline check monday.m4a --changes "b7 9 3 13 > 3 5 7 9" --every
      stackline check monday.m4a --target "minor ii-V-I, from the 3rd" --page monday.html
    """
    from stackline.options.take_source import take_from
    from stackline.practice.library.dates import read_date
    from stackline.practice.review.reviewing import review
    from stackline.practice.written.review_data import to_data
    from stackline.practice.written.review_text import render
    from stackline.shared.files import write_text

    if (played_on is not None or note) and not add:
        raise Complaint("--on and --note are kept with a take: give --add as well")
    if played_on is not None:
        read_date(played_on)
    shown = printed(json_to)
    json_file = None if json_to is None or shown else output_file(Path(json_to), take)
    if page is not None:
        output_file(page, take)
    hints = read_time(tempo, meter, first_beat, count_in)
    if changes is None and target is None:
        from stackline.sessions.check_session import Wishes, check_session

        wishes = Wishes(
            every=every, printed=shown, json_file=json_file, page=page, add=add,
            played_on=played_on, note=note, library_file=library_file,
        )  # fmt: skip
        sys.exit(check_session(take, ear=ear, time=hints, line=line, wishes=wishes))
    wanted = chosen_target(changes, target, key)
    heard = take_from(take, ear=ear, time=hints, line=line)
    found = review(heard, wanted)
    if shown:
        click.echo(json.dumps(to_data(found), indent=2, ensure_ascii=False))
    else:
        click.echo(render(found, every=every), nl=False)
    if json_file is not None:
        write_text(json_file, json.dumps(to_data(found), indent=2, ensure_ascii=False) + "\n")
    if page is not None:
        from stackline.practice.written.review_page import render as render_page

        write_text(page, render_page(found))
    if add:
        from stackline.commands.library.takes_command import keep

        keep(library_file, heard, found, take, played_on=played_on, note=note)
    sys.exit(0 if found.passes else NOTHING_FOUND)
