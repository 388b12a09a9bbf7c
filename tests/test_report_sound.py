"""The recording inside the page."""

import io
from pathlib import Path

import numpy as np
import pytest
import soundfile

from report.embedded_audio import BUDGET_BYTES, LARGEST_BYTES, embed, rate_for
from shared.complaint import Complaint

RATE_HZ = 44100


def clicks(path: Path, times_s: list[float], duration_s: float, channels: int = 1,
           level: float = 0.5) -> None:  # fmt: skip
    """Short 1 kHz bursts at known times."""
    samples = np.zeros(int(duration_s * RATE_HZ), dtype=np.float32)
    burst = level * np.sin(2 * np.pi * 1000 * np.arange(RATE_HZ // 50) / RATE_HZ)
    for time_s in times_s:
        start = int(time_s * RATE_HZ)
        samples[start : start + len(burst)] = burst
    soundfile.write(path, np.stack([samples] * channels, axis=1), RATE_HZ, subtype="FLOAT")


def onsets(data: bytes, times_s: list[float]) -> list[float]:
    """Where the bursts begin in the MP3, as libsndfile's own decoder hears it."""
    samples, rate_hz = soundfile.read(io.BytesIO(data))
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
    sound = embed(path, 60.0)
    assert sound is not None
    assert onsets(sound.data, times) == pytest.approx(times, abs=0.005)


def test_the_level_is_kept_unless_it_would_clip(tmp_path: Path) -> None:
    """A stereo file is averaged, not summed; one over full scale is brought down."""
    for level, expected in ((0.5, 0.5), (2.0, 0.97)):
        path = tmp_path / "level.wav"
        clicks(path, [0.2, 0.5], 1.0, 2, level)
        sound = embed(path, 1.0)
        assert sound is not None
        samples, _ = soundfile.read(io.BytesIO(sound.data))
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
        embed(path, 1.0)


def test_what_is_no_sound_is_told(tmp_path: Path) -> None:
    """Text under a sound's name gives one sentence."""
    path = tmp_path / "text.wav"
    path.write_text("not a recording")
    with pytest.raises(Complaint, match=r"text\.wav is no recording that can be read"):
        embed(path, 1.0)
