"""``stackline watch``: each new recording in a folder is heard, recognised, kept and written up."""

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.options.hearing_options import ear_option
from stackline.options.spelling_option import spell_option
from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.practice.library.library import Library
    from stackline.sessions.new_recordings import Found

DONE, SOME_FAILED = 0, 2  # exit codes
SETTLES_S = 2.0  # between the two looks of --once


@click.command()
@click.argument("folder", metavar="FOLDER", type=click.Path(path_type=Path))
@click.option("-o", "--output", default="stackline-out", metavar="DIR", show_default=True,
              type=click.Path(path_type=Path), help="Folder for what is written.")  # fmt: skip
@click.option("--once", is_flag=True, help="Work through what is there, and end.")
@click.option("--look-every", "every_s", type=click.FloatRange(1.0, 3600.0), default=5.0,
              show_default=True, metavar="SECONDS", help="How often to look.")  # fmt: skip
@ear_option
@spell_option
@click.option("--library", "library_file", metavar="FILE", type=click.Path(path_type=Path),
              help="The library's file, instead of the usual one.")  # fmt: skip
def watch(
    folder: Path, output: Path, once: bool, every_s: float, ear: str, library_file: Path | None
) -> None:
    """Hear each new recording that is put into a folder, as your phone does, section by section.

    A recording is heard once it is complete (its size has not changed from one look to the next),
    and never twice, whatever it is called. What is recognised at 0.9 and more is kept in the
    library; what is not is listed. Each gets a page, and index.html is written anew. One that
    cannot be read is reported once. Stop with Ctrl-C.

    \b
    Example:
      stackline watch ~/Recordings -o ~/practice
      stackline watch ~/Recordings --once
    """
    from stackline.practice.library.library import Library
    from stackline.sessions.new_recordings import Watched

    watched, failed = Watched(folder=folder), False
    watched.look()  # names a folder that cannot be read before anything else
    with Library(library_file) as library:
        try:
            if not once:
                click.echo(f"watching {folder}; stop with Ctrl-C")
            while True:
                time.sleep(SETTLES_S if once else every_s)
                before = dict(watched.seen)
                for found in watched.look():
                    failed |= not _work_through(found, library, output, ear)
                if once:
                    for path in watched.growing(before):
                        click.echo(f"{path.name} is still being written; run this again later")
                    break
        except KeyboardInterrupt:
            click.echo("stopped; a recording that was being heard is taken up next time")
            return
    sys.exit(SOME_FAILED if failed else DONE)


def _work_through(found: "Found", library: "Library", output: Path, ear: str) -> bool:
    """Hear a recording unless it was; whether it could be."""
    from stackline.practice.library.rows.section_places import remember, was_heard

    if was_heard(library.store, found.sha256):
        return True
    name = found.path.name
    try:
        outcome = _hear(found, library, output, ear)
    except Complaint as complaint:
        click.echo(f"stackline: {complaint}", err=True)
        remember(library.store, found.sha256, name, "could not be read")
        return False
    remember(library.store, found.sha256, name, outcome)
    return True


def _hear(found: "Found", library: "Library", output: Path, ear: str) -> str:
    """Hear, write and keep a recording; what became of it in a word."""
    from stackline.practice.columns import plural
    from stackline.sessions.heard_session import known_to, session_from
    from stackline.sessions.keeping import keep_session, left_words
    from stackline.sessions.session_files import page_path, write_index_anew, write_session

    targets = known_to(library)
    session = session_from(found.path, targets, ear=ear)
    name = found.path.name
    if not session.sections:
        click.echo(f"{name}: nothing was heard in it")
        return "nothing heard"
    page = page_path(session, output)
    write_session(session, output, found.path)
    kept = keep_session(library, session, targets, found.path)
    write_index_anew(output)
    count = plural(len(session.sections), "section")
    click.echo(f"{name}: {count}, {len(kept.words)} kept; see {page}")
    for words in kept.words:
        click.echo(f"  {words}")
    if left := left_words(session, kept, str(found.path)):
        click.echo(f"  {left}")
    return "heard"
