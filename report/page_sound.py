"""The sound of a page from one decoding: what it carries, and the picture behind its notes.

Both need nothing of what is heard and leave the interpreter's lock alone most of the time;
`SoundInTheMaking` therefore makes them in a thread while the take is being heard, so that the
player waits for little more than the hearing.
"""

import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

import av
import av.error

from listen.decode import decode
from report.embedded_audio import EmbeddedAudio, embed, rate_for
from report.spectrogram import Strengths, strengths


@dataclass(frozen=True, kw_only=True)
class PageSound:
    """What a page needs of a recording."""

    audio: EmbeddedAudio
    strengths: Strengths


class _StoppedError(Exception):
    """Nobody waits for this sound any more."""


def page_sound(
    path: Path, duration_s: float, stop: threading.Event | None = None
) -> PageSound | None:
    """The sound of a recording; None where it is too long to be put inside a page.

    duration_s: chooses the bit rate. stop: set it to end the work early. Raises Complaint
    where the file cannot be read as sound.
    """

    def go_on(_stage: str = "", _share: float = 0.0) -> None:
        if stop is not None and stop.is_set():
            raise _StoppedError

    rate = rate_for(duration_s)
    if rate is None:
        return None
    audio = decode(path, rate.sample_rate_hz, go_on)
    return PageSound(audio=embed(audio, rate, go_on), strengths=strengths(audio))


class SoundInTheMaking:
    """A `page_sound` that is made from now on, in the background; leave it to end it early."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._stop = threading.Event()
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="page-sound")
        self._length_s = _declared_s(path)
        self._made = self._length_s and self._pool.submit(
            page_sound, path, self._length_s, self._stop
        )

    def get(self, duration_s: float) -> PageSound | None:
        """The sound; waits for it.

        duration_s: as heard. Where the file said nothing, or another length that asks for
        another rate, the sound is made now.
        """
        if not self._made or rate_for(self._length_s or 0.0) != rate_for(duration_s):
            return page_sound(self._path, duration_s)
        return self._made.result()

    def __enter__(self) -> "SoundInTheMaking":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 where: TracebackType | None) -> None:  # fmt: skip
        self._stop.set()
        self._pool.shutdown(wait=True, cancel_futures=True)


def _declared_s(path: Path) -> float | None:
    """How long the file says it is; None where it does not, or cannot be opened.

    What is wrong with the file is told by the hearing, which decodes all of it.
    """
    try:
        with av.open(str(path), metadata_errors="ignore") as container:
            return container.duration / av.time_base if container.duration else None
    except (OSError, ValueError, av.error.FFmpegError):
        return None
