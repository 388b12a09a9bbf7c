"""What an ear is: anything that turns sound into notes. And how long work reports its progress.

A new ear is one file with one class of this shape. Ears are interchangeable: the rest of
the program only sees notes.
"""

from collections.abc import Callable
from typing import Protocol

from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning

Progress = Callable[[str, float], None]
"""Called with the stage in words and the fraction of it that is done, 0..1."""


def silent(stage: str, fraction: float) -> None:
    """The progress of someone who does not want to know."""


class Ear(Protocol):
    """Turns a recording into struck notes.

    name: with a version, kept in every take (``general 0.4.0``).
    sample_rate_hz: at which `hear` wants its audio.
    hears_velocity: whether its velocities are its own; else `levels` lays them over.
    """

    @property
    def name(self) -> str: ...

    @property
    def sample_rate_hz(self) -> int: ...

    @property
    def hears_velocity(self) -> bool: ...

    def hear(self, audio: Audio, tuning: Tuning, progress: Progress) -> tuple[Note, ...]:
        """The notes struck in `audio`, by onset, then pitch; no key struck twice at once.

        audio: at `sample_rate_hz`, read block by block by slicing (it may be hours long).
        tuning: how far the instrument stands from A = 440 Hz; the ear corrects for it.
        Times are seconds of the recording whatever the tuning.
        """
        ...
