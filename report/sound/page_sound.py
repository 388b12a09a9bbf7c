"""The sound of a page from one decoding: what it carries, and the picture behind its notes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from stackline.listen.recording.decode import decode
from stackline.report.sound.embedded_audio import EmbeddedAudio, embed, rate_for
from stackline.report.sound.spectrogram import Strengths, strengths
from stackline.shared.notes import CutFrom


@dataclass(frozen=True, kw_only=True)
class PageSound:
    """What a page needs of a recording."""

    audio: EmbeddedAudio
    strengths: Strengths


SECTION_RATE = rate_for(300.0)  # of sections, which are cut from one decoding


def section_sounds(path: Path, places: Sequence[CutFrom | None]) -> Iterator[PageSound | None]:
    """The sound of each section of a recording, which is decoded once; None for what is too long.

    places: of the sections; None stands for the recording as a whole.
    """
    rate = SECTION_RATE
    assert rate is not None
    whole = decode(path, rate.sample_rate_hz)
    for one in places:
        start_s, end_s = (one.start_s, one.end_s) if one else (0.0, whole.duration_s)
        if rate_for(end_s - start_s) is None:
            yield None
            continue
        first, last = (round(time_s * rate.sample_rate_hz) for time_s in (start_s, end_s))
        audio = replace(whole, samples=whole.samples[first:last], cut_from=one)
        yield PageSound(audio=embed(audio, rate), strengths=strengths(audio))


def page_sound(path: Path, duration_s: float) -> PageSound | None:
    """The sound of a recording; None where it is too long to be put inside a page.

    duration_s: chooses the bit rate. Raises Complaint where the file cannot be read as sound.
    """
    rate = rate_for(duration_s)
    if rate is None:
        return None
    audio = decode(path, rate.sample_rate_hz)
    return PageSound(audio=embed(audio, rate), strengths=strengths(audio))
