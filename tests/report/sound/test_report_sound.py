"""The recording inside the page."""

import io
import subprocess
import time
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import soundfile

from stackline.report.page.page_worker import PageInTheMaking
from stackline.report.sound.embedded_audio import BUDGET_BYTES, LARGEST_BYTES, rate_for
from stackline.report.sound.page_sound import page_sound
from stackline.shared.complaint import Complaint
from tests.support.sound.click_track import RATE_HZ, clicks


def heard(data: bytes) -> tuple[np.ndarray, int]:
    """The samples that FFmpeg's player side makes of the sound, and their rate."""
    with av.open(io.BytesIO(data), "r") as file:
        stream = file.streams.audio[0]
        blocks = [frame.to_ndarray().reshape(-1) for frame in file.decode(stream)]
        return np.concatenate(blocks), stream.rate


def onsets(data: bytes, times_s: list[float]) -> list[float]:
    """Where the bursts begin."""
    samples, rate_hz = heard(data)
    found = []
    for time_s in times_s:
        near = slice(int((time_s - 0.1) * rate_hz), int((time_s + 0.1) * rate_hz))
        loud = np.flatnonzero(np.abs(samples[near]) > 0.2)
        found.append((near.start + loud[0]) / rate_hz)
    return found


@pytest.mark.parametrize("channels", [1, 2])
def test_times_in_the_sound_are_times_on_the_page(tmp_path: Path, channels: int) -> None:
    """Bursts stay within 5 ms of where they were, at the start and after a minute."""
    times = [0.5, 30.0, 59.0]
    path = tmp_path / "clicks.wav"
    clicks(path, times, 60.0, channels)
    sound = page_sound(path, 60.0)
    assert sound is not None
    assert onsets(sound.audio.data, times) == pytest.approx(times, abs=0.005)


def test_the_level_is_kept_unless_it_would_clip(tmp_path: Path) -> None:
    """A stereo file is averaged, not summed; one over full scale is brought down."""
    for level, expected in ((0.5, 0.5), (2.0, 0.97)):
        path = tmp_path / "level.wav"
        clicks(path, [0.2, 0.5], 1.0, 2, level)
        sound = page_sound(path, 1.0)
        assert sound is not None
        samples, _ = heard(sound.audio.data)
        assert np.percentile(np.abs(samples), 99.7) == pytest.approx(expected, rel=0.15)


def test_a_long_recording_gets_a_lower_rate_and_a_very_long_one_none() -> None:
    """Five minutes stay in the budget; an hour is small; three hours are not embedded."""
    rates = [rate_for(minutes * 60) for minutes in (0.5, 3, 5, 60, 180)]
    assert rates[0] == (96, 44100)
    assert rates[-1] is None
    sizes = [m * 60 * r[0] * 125 for m, r in zip((0.5, 3, 5, 60), rates, strict=False) if r]
    assert max(sizes[:3]) <= BUDGET_BYTES
    assert sizes[3] <= LARGEST_BYTES
    bits = [r[0] for r in rates if r]
    assert bits == sorted(bits, reverse=True)


def test_samples_that_are_not_numbers_are_refused(tmp_path: Path) -> None:
    """A file that the ear refuses is refused here too, in the same words."""
    path = tmp_path / "nan.wav"
    samples = 0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE_HZ) / RATE_HZ)
    samples[5000:5100] = np.nan
    soundfile.write(path, samples, RATE_HZ, subtype="FLOAT")
    with pytest.raises(Complaint, match=r"nan\.wav holds samples that are not numbers"):
        page_sound(path, 1.0)


def test_what_is_no_sound_is_told(tmp_path: Path) -> None:
    """Text under a sound's name gives one sentence."""
    path = tmp_path / "text.wav"
    path.write_text("not a recording")
    with pytest.raises(Complaint, match=r"text\.wav is not a recording that can be read"):
        page_sound(path, 1.0)


def test_sound_made_in_the_background_is_the_same(tmp_path: Path) -> None:
    """Bytes and picture are those of a sound made at once."""
    path = tmp_path / "clicks.wav"
    clicks(path, [0.5, 2.0], 3.0)
    at_once = page_sound(path, 3.0)
    with PageInTheMaking(path) as making:
        later = making.sound(3.0)
    assert at_once is not None
    assert later is not None
    assert later.audio.data == at_once.audio.data
    np.testing.assert_array_equal(later.strengths.levels, at_once.strengths.levels)


def test_sound_that_nobody_waits_for_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Left at once, an hour's sound ends long before it could be made, and no process stays."""
    started: list[subprocess.Popen[bytes]] = []
    plain = subprocess.Popen

    def kept(*arguments: Any, **options: Any) -> "subprocess.Popen[bytes]":
        started.append(plain(*arguments, **options))
        return started[-1]

    monkeypatch.setattr("stackline.report.page.worker_process.subprocess.Popen", kept)
    path = tmp_path / "long.wav"
    soundfile.write(path, np.zeros(8000 * 3600, dtype=np.int16), 8000)
    begun = time.perf_counter()
    with PageInTheMaking(path):
        assert started[0].poll() is None
    assert time.perf_counter() - begun < 1.0
    assert [one.returncode is not None for one in started] == [True]


def test_a_file_that_does_not_say_how_long_it_is_waits_for_the_hearing(tmp_path: Path) -> None:
    """A stream's container has no length in its head; the take's own length chooses the rate."""
    path = tmp_path / "stream.wav"
    clicks(path, [0.5], 1.0)
    bare = tmp_path / "stream.aac"  # ADTS frames: ISO/IEC 13818-7, no length anywhere
    with av.open(str(path)) as source, av.open(str(bare), "w", format="adts") as sink:
        stream = sink.add_stream("aac", rate=RATE_HZ)
        for frame in source.decode(audio=0):
            sink.mux(stream.encode(frame))
        sink.mux(stream.encode(None))
    with PageInTheMaking(bare) as making:
        sound = making.sound(1.0)
    assert sound is not None
    assert onsets(sound.audio.data, [0.5]) == pytest.approx(
        [0.5], abs=0.05
    )  # ADTS has no edit list


class Here:
    """A stand-in for another process that does the work in this one, where a test can reach."""

    def __init__(self, module: str) -> None:
        self.module = module

    def give(self, function: Any, *arguments: Any) -> None:
        """Do it at once."""
        self.made = function(*arguments)

    def result(self) -> Any:
        """What it gave."""
        return self.made

    def __exit__(self, *_: object) -> None:
        """Nothing to end."""


@pytest.mark.parametrize("claimed_s", [20.0, 1e6])
def test_a_file_that_lies_about_its_length_gets_the_rate_of_what_is_heard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, claimed_s: float
) -> None:
    """A head that says too little would make the page too heavy, too much would leave it mute."""
    path = tmp_path / "recording.wav"
    clicks(path, [0.5], 3.0)
    monkeypatch.setattr("stackline.report.page.page_worker._declared_s", lambda _: claimed_s)
    monkeypatch.setattr("stackline.report.page.page_worker.Apart", Here)
    with PageInTheMaking(path) as making:
        sound = making.sound(300.0)
    assert sound is not None
    assert heard(sound.audio.data)[1] == 24000  # the rate for five minutes


def test_what_is_no_sound_is_told_by_the_background_too(tmp_path: Path) -> None:
    """A missing file makes no noise until its sound is asked for."""
    with (
        PageInTheMaking(tmp_path / "none.wav") as making,
        pytest.raises(Complaint, match="there is no file"),
    ):
        making.sound(1.0)
