"""Outputs that never harm: an output is there whole or not at all.

A file is written beside its place and renamed, so that nobody sees half of it. What a symbolic
link points at is replaced, not the link. A device or a pipe is written to: it gets the whole
output once that is made. A folder is refused. Reading text from the player is here, too.
"""

import contextlib
import os
import re
import shutil
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path

from stackline.shared.complaint import Complaint

_OWN_STREAM = re.compile(r"/(?:dev|proc/self)/fd/(\d+)")
_STREAMS = {"/dev/stdout": "/dev/fd/1", "/dev/stderr": "/dev/fd/2"}


@contextlib.contextmanager
def beside(path: Path) -> Iterator[Path]:
    """Give a temporary path to write to; what is written there becomes `path` on success.

    On any exception, an interrupt included, the temporary file is removed and `path`
    stays what it was. Raises Complaint when it cannot be written, a full disk included.
    """
    try:
        through = _is_written_through(path)
        goal = path if through else _file_behind(path)
        temporary = _temporary_for(goal, through)
    except OSError as error:
        raise _cannot_write(path, error, "name a folder that you may write to") from error
    try:
        yield temporary
        if through:
            _pour(temporary, goal)
        else:
            temporary.chmod(_mode_of(goal))
            temporary.replace(goal)
    except OSError as error:
        raise _cannot_write(path, error, "nothing was changed there") from error
    finally:
        temporary.unlink(missing_ok=True)


def stream_number(path: str | Path) -> int | None:
    """The number of an open stream of this program that a path names; ``/dev/stdout`` is 1."""
    named = _OWN_STREAM.fullmatch(_STREAMS.get(str(path), str(path)))
    return int(named[1]) if named else None


def _is_written_through(path: Path) -> bool:
    """Whether a path is a device, a pipe or a stream, which is written to and not replaced."""
    if stream_number(path) is not None:
        return True
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return False
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def _file_behind(path: Path) -> Path:
    """The file that is to be replaced; Complaint for a folder or a file closed to writing."""
    goal = Path(os.path.realpath(path))
    if goal.is_symlink():
        raise Complaint(f"cannot write {path}: its links lead in a circle; name another file")
    if goal.is_dir():
        raise Complaint(f"cannot write {path}: it is a folder; name a file in it")
    if goal.exists() and not os.access(goal, os.W_OK):
        raise Complaint(f"cannot write {path}: it may not be changed; name another file")
    return goal


def _temporary_for(goal: Path, through: bool) -> Path:
    if through:
        handle, name = tempfile.mkstemp(prefix="stackline-")
    else:
        goal.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".stackline-", dir=goal.parent)
    os.close(handle)
    return Path(name)


def _pour(source: Path, goal: Path) -> None:
    """Write a file's bytes into a device, a pipe or a stream."""
    number = stream_number(goal)
    with source.open("rb") as whole:
        out = goal.open("wb") if number is None else os.fdopen(os.dup(number), "wb")
        with out:
            shutil.copyfileobj(whole, out)


def _mode_of(goal: Path) -> int:
    """The mode that the file has, or a new one gets (mkstemp's own is for one user alone)."""
    try:
        return stat.S_IMODE(goal.stat().st_mode)
    except FileNotFoundError:
        return 0o666 & ~_umask()


def _umask() -> int:
    """The process's file mode mask (mkstemp ignores it, our users expect it)."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _cannot_write(path: Path, error: OSError, advice: str) -> Complaint:
    return Complaint(f"cannot write {path}: {error.strerror or error}; {advice}")


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 text with `beside`."""
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, data: bytes) -> None:
    """Write bytes with `beside`."""
    with beside(path) as temporary:
        temporary.write_bytes(data)


def read_text(path: Path, what: str, *, most_bytes: int) -> str:
    """The text of a file, UTF-8; what: for the sentence, "a target file".

    Raises Complaint where it is none, or longer than anything of its kind can be.
    """
    try:
        with path.open("rb") as file:
            data = file.read(most_bytes + 1)
        if len(data) > most_bytes:
            raise Complaint(
                f"{path}: cannot be read as {what} (it is larger than {most_bytes // 2**20} MB)"
            )
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Complaint(f"{path}: cannot be read as {what} (it is not UTF-8 text)") from error
    except (OSError, ValueError) as error:
        if isinstance(error, Complaint):
            raise
        reason = getattr(error, "strerror", None) or error
        raise Complaint(f"{path}: cannot be read as {what} ({reason})") from error
