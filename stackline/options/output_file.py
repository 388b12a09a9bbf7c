"""One file that a player names for an output: checked before anything is worked out for it."""

from pathlib import Path

from stackline.shared.complaint import Complaint
from stackline.shared.files import stream_number

RECORDINGS = {".wav", ".flac", ".ogg", ".opus", ".mp3", ".m4a", ".aac", ".mp4", ".webm", ".aif",
              ".aiff", ".mov", ".wma"}  # fmt: skip


def printed(to: str | None) -> bool:
    """Whether an output goes to the terminal or pipe in place of the table."""
    return to == "-" or (to is not None and stream_number(to) == 1)


def output_file(path: Path, *sources: Path) -> Path:
    """The path again; raises Complaint where writing there would cost the player something.

    sources: what is read in the same run.
    """
    if path.is_dir():
        raise Complaint(f"cannot write {path}: it is a folder; name a file in it")
    for source in sources:
        if _are_one(path, source):
            raise Complaint(f"{path} is read here, so nothing is written to it; name another file")
    if path.suffix.lower() in RECORDINGS and path.exists():
        raise Complaint(f"{path} is a recording, so nothing is written to it; name another file")
    return path


def _are_one(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:  # one of them is not there
        return False
