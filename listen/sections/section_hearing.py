"""A recording of an evening, heard section by section.

The whole is heard once to find where it falls into sections. Then each section is cut out and
heard by itself, as if it had been recorded alone: its level, tuning, notes, beats and bars are its
own, and equal those of the same cut kept as a file. That costs the hearing twice; a recording that
is one section is heard once, and is that section whole.

Times in seconds: of the recording in `cut_from` and `not_playing`, of the section in its hearing.
"""

import hashlib
from dataclasses import dataclass
from pathlib import Path, PurePath

import numpy as np

from stackline.listen.ear import Ear, Progress, silent
from stackline.listen.hearing import Hearing, hear_audio
from stackline.listen.recording.decode import decode
from stackline.listen.recording.tuning import check_expected_a
from stackline.listen.sections.section_edges import find_sections
from stackline.listen.time.time_hints import NO_HINTS, TimeHints, check_hints
from stackline.shared.notes import CutFrom, Passage
from stackline.shared.sound import Audio
from stackline.shared.units import CONCERT_A_HZ


@dataclass(frozen=True, kw_only=True)
class HeardSession:
    """whole: the recording heard at once. sections: each heard alone; none where nothing is."""

    whole: Hearing
    sections: tuple[Hearing, ...]


def hear_sections(
    path: Path,
    *,
    ear: Ear,
    hints: TimeHints = NO_HINTS,
    expected_a_hz: float = CONCERT_A_HZ,
    progress: Progress = silent,
) -> HeardSession:
    """Listen to a recording in a file, section by section; see `hear_audio_sections`.

    Raises Complaint as `hear` does.
    """
    check_hints(hints)
    check_expected_a(expected_a_hz)
    audio = decode(path, ear.sample_rate_hz, progress)
    return hear_audio_sections(
        audio, ear=ear, hints=hints, expected_a_hz=expected_a_hz, progress=progress
    )


def hear_audio_sections(
    audio: Audio,
    *,
    ear: Ear,
    hints: TimeHints = NO_HINTS,
    expected_a_hz: float = CONCERT_A_HZ,
    progress: Progress = silent,
) -> HeardSession:
    """Listen to a recording, section by section. hints: hold in each section."""

    def listen(part: Audio, told: Progress) -> Hearing:
        return hear_audio(
            part, ear=ear, hints=hints, expected_a_hz=expected_a_hz, progress=told
        )  # fmt: skip

    whole = listen(audio, progress)
    places = find_sections(whole.attacks, whole.not_playing, audio.duration_s)
    if len(places) < 2:
        return HeardSession(whole=whole, sections=(whole,) if places else ())
    found = []
    for number, place in enumerate(places, start=1):
        words = f"section {number} of {len(places)}"
        found.append(listen(cut(audio, place, number), _in(progress, words, number, len(places))))
    return HeardSession(whole=whole, sections=tuple(found))


def _in(progress: Progress, words: str, number: int, of: int) -> Progress:
    """The progress of one section as part of all."""

    def told(stage: str, fraction: float) -> None:
        if stage == "hearing the notes":
            progress(words, (number - 1 + fraction) / of)

    return told


def cut(audio: Audio, place: Passage, number: int) -> Audio:
    """A section of a recording as a recording of its own, called after it and its number."""
    rate = audio.sample_rate_hz
    first, last = round(place.start_s * rate), round(place.end_s * rate)
    samples = np.ascontiguousarray(audio.samples[first:last], np.float32)
    samples.setflags(write=False)
    path = PurePath(audio.name)
    broken_s, spoiled = (
        audio.broken_off_s,
        [one for one in audio.unread if one.end_s > place.start_s],
    )
    ends_there = broken_s is not None and place.start_s < broken_s <= place.end_s
    return Audio(
        name=f"{path.stem}-{number}{path.suffix}",
        samples=samples,
        sample_rate_hz=rate,
        sha256=section_digest(audio.sha256, place),
        broken_off_s=broken_s - place.start_s if broken_s is not None and ends_there else None,
        unread=tuple(
            Passage(
                start_s=max(0.0, one.start_s - place.start_s),
                end_s=min(one.end_s, place.end_s) - place.start_s,
            )
            for one in spoiled if one.start_s < place.end_s
        ),
        cut_from=CutFrom(
            name=audio.name, sha256=audio.sha256, number=number,
            start_s=place.start_s, end_s=place.end_s,
        ),
    )  # fmt: skip


def section_digest(sha256: str, place: Passage) -> str:
    """A name for these seconds of this recording that no others have."""
    text = f"{sha256} {round(1000 * place.start_s)} {round(1000 * place.end_s)}"
    return hashlib.sha256(text.encode("ascii")).hexdigest()
