"""What is written of a session: a page for each section, a page over them, and everything as JSON.

Files are called after the recording: ``evening.m4a`` gives ``evening.sections.html``,
``evening.sections.json`` and ``evening-1.html``, ``evening-2.html`` and so on; a recording that is
one section has ``evening.html``. `write_index_anew` makes ``index.html`` over all sessions whose
JSON lies in the folder.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import click

from stackline.report.outputs import stem_of, write, write_index
from stackline.report.sound.page_sound import PageSound, section_sounds
from stackline.sessions.heard_session import read_session
from stackline.shared.codec.codec_session import session_to_json
from stackline.shared.complaint import Complaint
from stackline.shared.files import write_text
from stackline.shared.take import Session, Take

PAGE, DATA = ".sections.html", ".sections.json"
MARK = 8  # characters of the digest that keep two recordings of one name apart


def write_session(session: Session, folder: Path, recording: Path) -> list[Path]:
    """Write a session into a folder, each file whole or not at all; the paths.

    recording: where its sound is; a MIDI file has none.
    """
    from stackline.practice.written.session_page import render

    session = named_apart(session, folder)
    stem = stem_of(session.source.name)
    written: list[Path] = []
    sounds = _sounds(session, recording)
    for section, sound in zip(session.sections, sounds, strict=True):
        written += write(section.take, folder, ("page",), sound=sound)
    pages = {number: path.name for number, path in enumerate(written, start=1)}
    write_text(folder / f"{stem}{PAGE}", render(session, pages))
    write_text(folder / f"{stem}{DATA}", session_to_json(session))
    return [*written, folder / f"{stem}{PAGE}", folder / f"{stem}{DATA}"]


def page_path(session: Session, folder: Path) -> Path:
    """Where a session's page is."""
    return folder / f"{stem_of(named_apart(session, folder).source.name)}{PAGE}"


def write_index_anew(folder: Path) -> Path | None:
    """Make the index page over all sections of all sessions in a folder; None where there is none.

    A session's JSON that cannot be read is left out, with a sentence.
    """
    takes: list[Take] = []
    for path in sorted(folder.glob(f"*{DATA}")):
        try:
            takes += [one.take for one in read_session(path).sections]
        except Complaint as complaint:
            click.echo(f"stackline: {complaint}; it is left out of the index", err=True)
    return write_index(takes, folder) if takes else None


def named_apart(session: Session, folder: Path) -> Session:
    """The session, called otherwise where another recording of its name was written there."""
    path = folder / f"{stem_of(session.source.name)}{DATA}"
    if not path.exists() or _digest_in(path) in (session.source.sha256, None):
        return session
    mark = f"-{session.source.sha256[:MARK]}"
    sections = tuple(
        replace(one, take=_called(one.take, mark, session.source.name)) for one in session.sections
    )
    name = _with(session.source.name, mark, session.source.name)
    return replace(session, source=replace(session.source, name=name), sections=sections)


def _called(take: Take, mark: str, recording: str) -> Take:
    return replace(
        take, source=replace(take.source, name=_with(take.source.name, mark, recording))
    )  # fmt: skip


def _with(name: str, mark: str, recording: str) -> str:
    """A name with a mark behind the stem of the recording that it begins with."""
    stem = Path(recording).stem
    return f"{stem}{mark}{name.removeprefix(stem)}"


def _digest_in(path: Path) -> str | None:
    """The recording that a session's JSON is of; None where it cannot be read."""
    try:
        return read_session(path).source.sha256
    except Complaint:
        return None


def _sounds(session: Session, recording: Path) -> Iterator[PageSound | None]:
    """The sound of each section; none of a MIDI file, or of what cannot be read any more."""
    from stackline.listen.recording.midi_keys import is_midi

    if is_midi(recording) or not session.sections:
        yield from [None] * len(session.sections)
        return
    places = [one.take.source.cut_from for one in session.sections]
    yield from section_sounds(recording, places)
