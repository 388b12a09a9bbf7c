"""A take from what a player names: a recording, which is heard, or a take kept as JSON."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.listen.time.time_hints import NO_HINTS, TimeHints
from stackline.shared.complaint import Complaint
from stackline.shared.files import read_text
from stackline.shared.take import Take

if TYPE_CHECKING:
    from stackline.options.hearing_options import Line
    from stackline.theory.sheet.changes import Changes

LARGEST_TAKE = 64 * 2**20  # bytes: two hours of playing are a tenth of it


def take_from(
    path: Path,
    *,
    ear: str,
    time: TimeHints | None = None,
    changes: "Changes | None" = None,
    line: "Line" = "auto",
) -> Take:
    """Read a take's JSON (format 1), or hear a recording with a progress bar.

    time: what the player says of tempo and bars, line: whether one over the comping is looked for;
    a take's JSON has its own.
    """
    if path.suffix.lower() == ".json":
        if (time or NO_HINTS) != NO_HINTS or changes is not None:
            click.echo(
                f"stackline: {path.name}: a take kept as JSON has its own time and chords, so what "
                "was given of them changes nothing",
                err=True,
            )
        return read_take(path)
    from stackline.options.progress_bar import shown
    from stackline.pipeline import transcribe
    from stackline.report.words.summary import damage

    remarks: list[str] = []
    with shown(path.name) as progress:
        take = transcribe(
            path,
            ear=ear,
            changes=changes,
            hints=time or NO_HINTS,
            line=line,
            progress=progress,
            remark=remarks.append,
        )
    for sentence in remarks:
        click.echo(f"stackline: {take.source.name}: {sentence}", err=True)
    if spoiled := damage(take.source):
        click.echo(f"stackline: {take.source.name}: {spoiled}", err=True)
    return take


def read_take(path: Path) -> Take:
    """A take from a JSON file; raises Complaint with the place of what is wrong."""
    from stackline.shared.codec.codec_read import from_json
    from stackline.theory.chords.foreign_chords import check_chords

    text = read_text(path, "a take's JSON", most_bytes=LARGEST_TAKE)
    try:
        take = from_json(text)
        check_chords(take.voicings)
    except Complaint as complaint:
        raise Complaint(f"{path}: {complaint}") from complaint
    return take
