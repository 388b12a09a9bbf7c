"""A page in the making: its sound while the take is heard, its score while the rest is written.

The sound needs nothing of what is heard, and drawing the score takes as long as all the rest of a
page. Both are made in one process of its own (`worker_process`), one after the other, so that the
player waits for little more than the hearing. What that process fails to do is done here.
"""

from pathlib import Path
from types import TracebackType

import av
import av.error

from stackline.listen.recording.media_file import open_media
from stackline.report.notation.score_in_page import has_score, page_score
from stackline.report.page.worker_process import Apart, ApartError
from stackline.report.sound.embedded_audio import rate_for
from stackline.report.sound.page_sound import PageSound, page_sound
from stackline.shared.take import Take


class PageInTheMaking:
    """The sound of a recording is made from now on; leave the context to end it early.

    Ask for the sound before the score.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._apart = Apart(__name__)
        self._apart.give(_sound_as_declared, path.absolute())

    def sound(self, duration_s: float) -> PageSound | None:
        """The sound; waits for it.

        duration_s: as heard. Where the file said nothing, or another length that asks for
        another rate, or the other process gave none, the sound is made now; Complaint where
        the file cannot be read as sound.
        """
        try:
            made: tuple[float, PageSound | None] | None = self._apart.result()
        except ApartError:
            made = None
        if made is not None and rate_for(made[0]) == rate_for(duration_s):
            return made[1]
        return page_sound(self._path, duration_s)

    def begin_score(self, take: Take) -> None:
        """Hand the take over; where there is no score to draw, the process is not kept."""
        if has_score(take):
            self._apart.give(page_score, take)
        else:
            self._apart.end()

    def score(self, take: Take) -> tuple[str, ...]:
        """What `page_score` gives for the take that was handed over; waits for it."""
        try:
            drawn: tuple[str, ...] = self._apart.result()
        except ApartError:
            return page_score(take)
        return drawn

    def __enter__(self) -> "PageInTheMaking":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 where: TracebackType | None) -> None:  # fmt: skip
        self._apart.__exit__(kind, error, where)


def _sound_as_declared(path: Path) -> tuple[float, PageSound | None] | None:
    """How long the file says it is, and the sound for that; None where it does not say."""
    length_s = _declared_s(path)
    return (length_s, page_sound(path, length_s)) if length_s else None


def _declared_s(path: Path) -> float | None:
    """How long the file says it is; None where it does not, or cannot be opened.

    What is wrong with the file is reported by the hearing, which decodes all of it.
    """
    try:
        with open_media(path) as container:
            return container.duration / av.time_base if container.duration else None
    except (OSError, ValueError, av.error.FFmpegError):
        return None
