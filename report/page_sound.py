"""The sound of a page from one decoding: what it carries, and the picture behind its notes.

Both need nothing of what is heard; `SoundInTheMaking` therefore makes them in a process of its
own while the take is being heard (`report.apart`), so that the player waits for little more than
the hearing.
"""

from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

import av
import av.error

from listen.decode import decode
from report.apart import Apart, ApartError
from report.embedded_audio import EmbeddedAudio, embed, rate_for
from report.spectrogram import Strengths, strengths


@dataclass(frozen=True, kw_only=True)
class PageSound:
    """What a page needs of a recording."""

    audio: EmbeddedAudio
    strengths: Strengths


def page_sound(path: Path, duration_s: float) -> PageSound | None:
    """The sound of a recording; None where it is too long to be put inside a page.

    duration_s: chooses the bit rate. Raises Complaint where the file cannot be read as sound.
    """
    rate = rate_for(duration_s)
    if rate is None:
        return None
    audio = decode(path, rate.sample_rate_hz)
    return PageSound(audio=embed(audio, rate), strengths=strengths(audio))


class SoundInTheMaking:
    """A `page_sound` that is made from now on, in the background; leave it to end it early."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._length_s = _declared_s(path)
        self._apart = Apart(__name__) if self._length_s else None
        if self._apart:
            self._apart.give(page_sound, path.absolute(), self._length_s)

    def get(self, duration_s: float) -> PageSound | None:
        """The sound; waits for it.

        duration_s: as heard. Where the file said nothing, or another length that asks for
        another rate, or the other process gave none, the sound is made now; Complaint where
        the file cannot be read as sound.
        """
        if self._apart and rate_for(self._length_s or 0.0) == rate_for(duration_s):
            try:
                made: PageSound | None = self._apart.result()
                return made
            except ApartError:
                pass
        return page_sound(self._path, duration_s)

    def __enter__(self) -> "SoundInTheMaking":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 where: TracebackType | None) -> None:  # fmt: skip
        if self._apart:
            self._apart.__exit__(kind, error, where)


def _declared_s(path: Path) -> float | None:
    """How long the file says it is; None where it does not, or cannot be opened.

    What is wrong with the file is told by the hearing, which decodes all of it.
    """
    try:
        with av.open(str(path), metadata_errors="ignore") as container:
            return container.duration / av.time_base if container.duration else None
    except (OSError, ValueError, av.error.FFmpegError):
        return None
