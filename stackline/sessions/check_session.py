"""``stackline check`` without a target: what was practised where in a recording of an evening?"""

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.listen.time.time_hints import TimeHints
from stackline.options.hearing_options import Line
from stackline.shared.take import Session

if TYPE_CHECKING:
    from stackline.practice.library.library import Library
    from stackline.practice.targets.targets import Target

FOUND, NOTHING_FOUND = 0, 1  # exit codes


@dataclass(frozen=True, kw_only=True)
class Wishes:
    """What the player asked for beside the table; see the options of ``stackline check``."""

    every: bool
    printed: bool
    json_file: Path | None
    page: Path | None
    add: bool
    played_on: str | None
    note: str
    library_file: Path | None


def check_session(path: Path, *, ear: str, time: TimeHints, line: Line, wishes: Wishes) -> int:
    """Hear, recognise, show and keep; the exit code, 1 where nothing is recognised."""
    from stackline.sessions.heard_session import known_to, session_from

    library = _library(wishes)
    try:
        targets = known_to(library)
        session = session_from(path, targets, ear=ear, time=time, line=line)
        _show(session, targets, wishes)
        if wishes.add and library is not None:
            _keep(library, session, targets, path, wishes)
    finally:
        if library is not None:
            library.close()
    return FOUND if any(one.recognised for one in session.sections) else NOTHING_FOUND


def _library(wishes: Wishes) -> "Library | None":
    """The library, if there is one already or one is asked for."""
    from stackline.practice.library.library import Library
    from stackline.shared.folder import library_path

    path = wishes.library_file or library_path()
    return Library(path) if wishes.add or path.exists() else None


def _show(session: Session, targets: "tuple[Target, ...]", wishes: Wishes) -> None:
    from stackline.practice.written.session_page import render as render_page
    from stackline.practice.written.session_text import render
    from stackline.shared.codec.codec_session import session_to_json
    from stackline.shared.files import write_text

    if wishes.printed:
        click.echo(session_to_json(session), nl=False)
    else:
        click.echo(render(session), nl=False)
        if wishes.every:
            _show_reviews(session, targets)
    if wishes.json_file is not None:
        write_text(wishes.json_file, session_to_json(session))
    if wishes.page is not None:
        write_text(wishes.page, render_page(session))


def _show_reviews(session: Session, targets: "tuple[Target, ...]") -> None:
    """Each section against what it is practice of."""
    from stackline.practice.review.reviewing import review
    from stackline.practice.written.review_text import render

    by_name = {one.name: one for one in targets}
    for section in session.sections:
        if section.recognised:
            found = review(section.take, by_name[section.recognised[0].target])
            click.echo("\n" + render(found, every=True), nl=False)


def _keep(
    library: "Library",
    session: Session,
    targets: "tuple[Target, ...]",
    path: Path,
    wishes: Wishes,
) -> None:
    from stackline.sessions.keeping import keep_session, left_words

    asks = sys.stdin.isatty() and sys.stderr.isatty()
    kept = keep_session(
        library, session, targets, path, played_on=wishes.played_on, note=wishes.note,
        ask=_ask if asks else None,
    )  # fmt: skip
    for words in kept.words:
        click.echo(words, err=True)
    if left := left_words(session, kept, str(path)):
        click.echo(left, err=True)


def _ask(question: str) -> bool:
    return click.confirm(question, err=True)
