"""Write beside, then rename: an output is there whole or not at all."""

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from stackline.shared.complaint import Complaint


@contextlib.contextmanager
def beside(path: Path) -> Iterator[Path]:
    """Give a temporary path in the folder of `path`; rename it to `path` on success.

    On any exception, an interrupt included, the temporary file is removed and `path`
    stays what it was. Raises Complaint when the folder cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    except OSError as error:
        raise Complaint(
            f"cannot write {path}: {error.strerror}; name a folder that you may write to"
        ) from error
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        temporary.chmod(0o666 & ~_umask())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def _umask() -> int:
    """The process's file mode mask (mkstemp ignores it, our users expect it)."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 text with `beside`."""
    with beside(path) as temporary:
        temporary.write_text(text, encoding="utf-8")


def write_bytes(path: Path, data: bytes) -> None:
    """Write bytes with `beside`."""
    with beside(path) as temporary:
        temporary.write_bytes(data)
