"""New recordings in a folder, once each is complete.

A file counts as complete when two looks, some seconds apart, find the same size and time of change.
Looking again and again needs nothing from the system that a network drive or a phone's own folder
may lack. Each file's content is read once for each size and time; what it is called is no matter.
"""

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

from stackline.options.output_file import RECORDINGS
from stackline.shared.complaint import Complaint

HEARD = RECORDINGS | {".mid", ".midi"}
State = tuple[int, int]  # size in bytes, time of change in nanoseconds


@dataclass(frozen=True, kw_only=True)
class Found:
    """A complete recording. sha256: of its content, hex."""

    path: Path
    sha256: str


@dataclass(kw_only=True)
class Watched:
    """A folder that is looked at. seen: how each file was at the last look. known: digests."""

    folder: Path
    seen: dict[Path, State] = field(default_factory=dict)
    known: dict[tuple[Path, State], str] = field(default_factory=dict)

    def look(self) -> list[Found]:
        """The recordings that are as they were at the last look, by name.

        Raises Complaint where the folder cannot be read.
        """
        now = self._states()
        steady = [path for path, state in now.items() if self.seen.get(path) == state]
        self.seen = now
        found = []
        for path in steady:
            digest = self._digest(path, now[path])
            if digest is not None:
                found.append(Found(path=path, sha256=digest))
        return found

    def growing(self, before: dict[Path, State]) -> list[Path]:
        """Files that changed, or came, since `seen` was `before`."""
        return [path for path, state in self.seen.items() if before.get(path) != state]

    def _states(self) -> dict[Path, State]:
        try:
            paths = sorted(self.folder.iterdir())
        except OSError as error:
            raise Complaint(
                f"cannot read {self.folder}: {error.strerror}; name the folder that recordings "
                "are put into"
            ) from error
        found = {}
        for path in paths:
            if path.suffix.lower() not in HEARD or path.name.startswith("."):
                continue
            try:
                state = path.stat()
            except OSError:  # gone again
                continue
            if path.is_file() and state.st_size:
                found[path] = (state.st_size, state.st_mtime_ns)
        return found

    def _digest(self, path: Path, state: State) -> str | None:
        """The digest of a file's content; None where it cannot be read now."""
        if (path, state) not in self.known:
            try:
                with path.open("rb") as file:
                    self.known[path, state] = hashlib.file_digest(file, "sha256").hexdigest()
            except OSError:
                return None
        return self.known[path, state]
