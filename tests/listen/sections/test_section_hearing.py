"""Each section of a recording is what the same sound would be, cut out and heard alone."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from bench.sorting.sessions import same
from stackline.pipeline import hear, transcribe, transcribe_session
from stackline.shared.take import Session
from tests.support.sound.sounds import chords

RATE = 16_000
FIRST = [(0.6 * i, (53, 57, 60, 64) if i % 2 else (55, 59, 62, 65)) for i in range(16)]
SECOND = [(1.1 * i, (48, 55, 64) if i % 2 else (50, 57, 65)) for i in range(10)]
BEGINS_S, AGAIN_S = 1.0, 28.0


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two things in two tempi, soft and loud, with 17 seconds of rest between."""
    sound = np.zeros(41 * RATE)
    for begins_s, played, gain in ((BEGINS_S, FIRST, 1.0), (AGAIN_S, SECOND, 0.3)):
        later = [(begins_s + at, midis) for at, midis in played]
        sound += gain * chords(later, duration_s=41.0, rate_hz=RATE, ring_s=0.5)
    path = tmp_path_factory.mktemp("evening") / "evening.wav"
    soundfile.write(path, sound, RATE, subtype="FLOAT")
    return path


@pytest.fixture(scope="module")
def session(recording: Path) -> Session:
    """The recording, heard once for all tests."""
    return transcribe_session(recording)


def test_a_section_has_its_place_and_its_own_clock(session: Session, recording: Path) -> None:
    """Number, name and seconds in the recording; notes begin near zero by its own clock."""
    assert len(session.sections) == 2
    for number, (one, begins_s) in enumerate(
        zip(session.sections, (BEGINS_S, AGAIN_S), strict=True), start=1
    ):
        cut = one.take.source.cut_from
        assert cut is not None
        assert (cut.name, cut.number) == ("evening.wav", number)
        assert cut.sha256 == session.source.sha256
        assert one.take.source.name == f"evening-{number}.wav"
        assert one.take.source.duration_s == pytest.approx(cut.end_s - cut.start_s, abs=1e-6)
        first_s = one.take.attacks[0].onset_s
        assert one.start_s + first_s == pytest.approx(begins_s, abs=0.05)
    assert len({one.take.source.sha256 for one in session.sections}) == 2


def test_a_sections_take_equals_the_cut_heard_alone(session: Session, recording: Path) -> None:
    """Notes, beats, voicings and the rest, through a file that another library cut and wrote."""
    samples, rate = soundfile.read(recording, dtype="float32")
    for one in session.sections:
        part = samples[round(one.start_s * rate) : round(one.end_s * rate)]
        assert same(one.take, hear(part, rate))
        path = recording.parent / "cut.wav"
        soundfile.write(path, part, rate, subtype="FLOAT")
        assert same(one.take, transcribe(path))


def test_a_recording_of_one_thing_is_its_only_section(recording: Path) -> None:
    """It is heard once, is not cut, and is what `transcribe` gives."""
    samples, rate = soundfile.read(recording, dtype="float32")
    path = recording.parent / "one.wav"
    soundfile.write(path, samples[: 12 * rate], rate, subtype="FLOAT")
    (only,) = transcribe_session(path).sections
    assert only.take == transcribe(path)
    assert only.take.source.cut_from is None
