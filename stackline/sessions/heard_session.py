"""A recording as a session, with what each section is practice of."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.listen.time.time_hints import NO_HINTS, TimeHints
from stackline.options.hearing_options import Line
from stackline.shared.complaint import Complaint
from stackline.shared.take import Section, Session

if TYPE_CHECKING:
    from stackline.practice.library.library import Library
    from stackline.practice.targets.targets import Target


def known_to(library: "Library | None") -> "tuple[Target, ...]":
    """The player's own targets, those that takes were reviewed against, and the built-in ones.

    Of two with one name the first counts.
    """
    from stackline.options.target_choice import tell_unreadable
    from stackline.practice.targets.find_target import known_targets

    tell_unreadable()
    kept = library.targets() if library is not None else ()
    found: dict[str, Target] = {}
    for one in (*known_targets(), *kept):
        found.setdefault(one.name.casefold(), one)
    return tuple(found.values())


def session_from(
    path: Path,
    targets: "tuple[Target, ...]",
    *,
    ear: str,
    time: TimeHints = NO_HINTS,
    line: Line = "auto",
) -> Session:
    """Hear a recording section by section, with a progress bar, and recognise what is played.

    A take or a session kept as JSON is read, and not cut again. time: holds in each section.
    """
    from stackline.practice.finding.recognising import with_recognised

    if path.suffix.lower() == ".json":
        return with_recognised(read_session(path), targets)
    from stackline.options.progress_bar import shown
    from stackline.pipeline import transcribe_session
    from stackline.report.words.summary import damage

    if time.first_beat_s is not None:
        raise Complaint(
            "--first-beat is a moment of one piece, and a recording may hold several; say what was "
            "played with --changes or --target, or leave it out"
        )
    remarks: list[str] = []
    with shown(path.name) as progress:
        session = transcribe_session(
            path, ear=ear, hints=time, line=line, progress=progress, remark=remarks.append
        )
    for sentence in remarks:
        click.echo(f"stackline: {sentence}", err=True)
    if spoiled := damage(session.source):
        click.echo(f"stackline: {session.source.name}: {spoiled}", err=True)
    return with_recognised(session, targets)


def read_session(path: Path) -> Session:
    """A session from a file of JSON, or of a take, which is then its only section.

    Raises Complaint with the place of what is wrong.
    """
    from stackline.options.take_source import LARGEST_TAKE
    from stackline.shared.codec.codec_read import from_data
    from stackline.shared.codec.codec_session import session_from_data
    from stackline.shared.codec.strict import load_json
    from stackline.shared.files import read_text
    from stackline.theory.chords.foreign_chords import check_chords

    text = read_text(path, "a session's or a take's JSON", most_bytes=LARGEST_TAKE)
    try:
        data = load_json(text)
        if isinstance(data, dict) and "sections" in data:
            session = session_from_data(data)
        else:
            take = from_data(data)
            session = Session(
                source=take.source, not_playing=take.not_playing, sections=(Section(take=take),)
            )
        for section in session.sections:
            check_chords(section.take.voicings)
    except Complaint as complaint:
        raise Complaint(f"{path}: {complaint}") from complaint
    return session
