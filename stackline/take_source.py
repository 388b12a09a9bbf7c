"""A take from what a player names: a recording, which is heard, or a take kept as JSON."""

from pathlib import Path
from typing import TYPE_CHECKING

from shared.complaint import Complaint
from shared.take import Take

if TYPE_CHECKING:
    from theory.changes import Changes


def take_from(
    path: Path,
    *,
    ear: str,
    tempo_bpm: float | None = None,
    beats_per_bar: int | None = None,
    changes: "Changes | None" = None,
) -> Take:
    """Read a take's JSON (format 1), or hear a recording with a progress bar."""
    if path.suffix.lower() == ".json":
        return read_take(path)
    from stackline.pipeline import transcribe
    from stackline.progress_bar import shown

    with shown(path.name) as progress:
        return transcribe(
            path,
            ear=ear,
            changes=changes,
            tempo_bpm=tempo_bpm,
            beats_per_bar=beats_per_bar,
            progress=progress,
        )


def read_take(path: Path) -> Take:
    """A take from a JSON file; raises Complaint with the place of what is wrong."""
    from shared.codec_read import from_json

    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Complaint(f"{path}: cannot be read as a take's JSON ({error})") from error
    try:
        return from_json(text)
    except Complaint as complaint:
        raise Complaint(f"{path}: {complaint}") from complaint
