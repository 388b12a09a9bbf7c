"""A recording on disk that slices like an array, so that two hours need no memory.

Samples are float32. Reading copies from the file, it maps nothing: the memory of the
process does not grow with what has been read. The file has no name and goes away with
the object.
"""

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from stackline.shared.complaint import Complaint

_SAMPLE = np.dtype(np.float32)


class Spool:
    """Append blocks of samples, then read any part by slicing."""

    def __init__(self) -> None:
        with _told():
            self._file = tempfile.TemporaryFile(  # noqa: SIM115 (lives as long as the spool)
                dir=_roomy_folder(), prefix="stackline-", buffering=0
            )
        self._length = 0

    def append(self, block: np.ndarray) -> None:
        """Add samples, shape (n,), at the end; raises Complaint where there is no room."""
        if not len(block):
            return
        left = np.ascontiguousarray(block, _SAMPLE).data.cast("B")
        with _told():
            self._file.seek(self._length * _SAMPLE.itemsize)
            while left:
                left = left[self._file.write(left) :]
        self._length += len(block)

    def __len__(self) -> int:
        return self._length

    def __getitem__(self, part: slice) -> np.ndarray:
        """Samples of a slice with step 1, as a read-only array; ends beyond the spool are cut."""
        start, stop, step = part.indices(self._length)
        if step != 1:
            raise ValueError(f"a spool is read in order, got step {step}")
        count = max(0, stop - start)
        self._file.seek(start * _SAMPLE.itemsize)
        return np.frombuffer(self._file.read(count * _SAMPLE.itemsize), _SAMPLE)

    def close(self) -> None:
        """Give the disk space back now rather than with the object."""
        self._file.close()

    def __del__(self) -> None:
        file = getattr(self, "_file", None)
        if file is not None:
            file.close()


@contextlib.contextmanager
def _told() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        folder = _roomy_folder() or tempfile.gettempdir()
        raise Complaint(
            f"the sound cannot be kept in {folder} while it is heard: {error.strerror}; "
            "set TMPDIR to a folder with more room (6 MB a minute)"
        ) from error


def _roomy_folder() -> str | None:
    """Where large temporary files belong: TMPDIR, else /var/tmp (/tmp may be memory)."""
    if "TMPDIR" not in os.environ and os.access("/var/tmp", os.W_OK) and Path("/var/tmp").is_dir():
        return "/var/tmp"
    return None
