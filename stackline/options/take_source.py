"""A take from what a player names: a recording, which is heard, or a take kept as JSON."""

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from stackline.listen.time.time_hints import TimeHints
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take

if TYPE_CHECKING:
    from stackline.theory.given.changes import Changes


def take_from(
    path: Path,
    *,
    ear: str,
    time: TimeHints | None = None,
    changes: "Changes | None" = None,
) -> Take:
    """Read a take's JSON (format 1), or hear a recording with a progress bar.

    time: what the player says of tempo and bars; a take's JSON has its own.
    """
    if path.suffix.lower() == ".json":
        return read_take(path)
    from stackline.options.progress_bar import shown
    from stackline.pipeline import transcribe

    with shown(path.name) as progress:
        return transcribe(
            path,
            ear=ear,
            changes=changes,
            **asdict(time or TimeHints()),
            progress=progress,
        )


def read_take(path: Path) -> Take:
    """A take from a JSON file; raises Complaint with the place of what is wrong."""
    from stackline.shared.codec.codec_read import from_json
    from stackline.theory.chords.foreign_chords import check_chords

    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Complaint(f"{path}: cannot be read as a take's JSON ({error})") from error
    try:
        take = from_json(text)
        check_chords(take.voicings)
    except Complaint as complaint:
        raise Complaint(f"{path}: {complaint}") from complaint
    return take
