"""The sound of a page from one decoding: what it carries, and the picture behind its notes."""

from dataclasses import dataclass
from pathlib import Path

from stackline.listen.recording.decode import decode
from stackline.report.sound.embedded_audio import EmbeddedAudio, embed, rate_for
from stackline.report.sound.spectrogram import Strengths, strengths


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
