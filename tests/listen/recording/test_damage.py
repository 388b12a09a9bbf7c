"""Recordings that are cut or spoiled: heard wherever they can be, at the right times, and reported.

The files are written by FFmpeg's libraries and by libsndfile, then spoiled here.
"""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from stackline.listen.recording.decode import decode
from stackline.shared.complaint import Complaint
from stackline.shared.sound import Audio
from tests.support.sound.sounds import encode, sine

RATE = 22_050
CUT = 44_100
CONTAINERS = {
    "a.wav": None, "a.aiff": None, "a.flac": None, "a.ogg": None, "a.aac": "aac", "a.m4a": "aac",
    "a.mp3": "libmp3lame", "a.webm": "libopus", "a.opus": "libopus",
}  # fmt: skip
SECONDS = 16


def heard_frequency_hz(samples: np.ndarray, rate_hz: int) -> float:
    """Of the strongest line of the spectrum (a line is 1 / duration wide)."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(spectrum.argmax()) * rate_hz / len(samples)


def _twelve_seconds(path: Path) -> Path:
    """A sine in noise, in the container of the name; the wav and its like by libsndfile."""
    codec = CONTAINERS[path.name]
    rate_hz = 48_000 if codec == "libopus" else CUT
    noise = 0.1 * np.random.default_rng(1).standard_normal(12 * rate_hz)
    sound = sine(440, 12.0, rate_hz) + noise
    if codec is None:
        soundfile.write(path, sound[:, np.newaxis], rate_hz)
        return path
    options = {"movflags": "faststart"} if path.suffix == ".m4a" else {}
    return encode(path, sound, rate_hz, codec, **options)


@pytest.mark.parametrize("name", CONTAINERS)
@pytest.mark.parametrize("kept", [0.99, 0.6])
def test_a_cut_recording_is_heard_as_far_as_it_goes(tmp_path: Path, name: str, kept: float) -> None:
    """As much sound as bytes are left, and where it breaks off."""
    path = _twelve_seconds(tmp_path / name)
    length_s = decode(path, RATE).duration_s
    path.write_bytes(path.read_bytes()[: int(kept * path.stat().st_size)])
    audio = decode(path, RATE)
    assert audio.duration_s == pytest.approx(kept * length_s, abs=1.2)
    assert heard_frequency_hz(audio.samples[: 3 * RATE], RATE) == pytest.approx(440, abs=1)
    assert audio.broken_off_s == pytest.approx(audio.duration_s, abs=0.01)


@pytest.mark.parametrize("name", CONTAINERS)
@pytest.mark.parametrize("behind", [b"", b"TAG" + b"x" * 125, bytes(5000)])
def test_a_whole_recording_does_not_break_off(tmp_path: Path, name: str, behind: bytes) -> None:
    """Nor with a tag behind it (ID3v1 is 128 bytes), or zeros."""
    path = _twelve_seconds(tmp_path / name)
    path.write_bytes(path.read_bytes() + behind)
    audio = decode(path, RATE)
    assert audio.broken_off_s is None
    assert audio.duration_s == pytest.approx(12.0, abs=0.1)


def test_a_wav_of_unknown_length_does_not_break_off(tmp_path: Path) -> None:
    """Recorders that stream write 0 or the largest size there is, and are read to the end."""
    path = _twelve_seconds(tmp_path / "a.wav")
    data = bytearray(path.read_bytes())
    at = data.index(b"data") + 4
    for said in (b"\xff\xff\xff\xff", bytes(4)):
        data[at : at + 4] = said
        path.write_bytes(data)
        audio = decode(path, RATE)
        assert audio.broken_off_s is None
        assert audio.duration_s == pytest.approx(12.0, abs=0.01)


# What a bad disk, a bad card and a bad copy make of the bytes in the middle.
SPOILT = ("zeros", "noise", "bits")


def _spoil(path: Path, how: str, start: float = 0.45, end: float = 0.55) -> None:
    """Spoil the bytes between two shares of the file."""
    data, rng = bytearray(path.read_bytes()), np.random.default_rng(2)
    first, last = int(start * len(data)), int(end * len(data))
    if how == "zeros":
        data[first:last] = bytes(last - first)
    elif how == "noise":
        data[first:last] = rng.bytes(last - first)
    else:
        for at in rng.integers(first, last, 200):
            data[at] ^= 0xFF
    path.write_bytes(data)


def _rising_steps(path: Path) -> Path:
    """Second n sounds at 300 + 100 n Hz, so that a moment says when it was played."""
    codec = CONTAINERS[path.name]
    rate_hz = 48_000 if codec == "libopus" else CUT
    sound = np.concatenate([sine(300 + 100 * i, 1.0, rate_hz) for i in range(SECONDS)])
    sound += 0.003 * np.random.default_rng(1).standard_normal(len(sound))
    if codec is None:
        soundfile.write(path, sound[:, np.newaxis], rate_hz)
        return path
    options = {"movflags": "faststart"} if path.suffix == ".m4a" else {}
    return encode(path, sound, rate_hz, codec, **options)


def _is_at(audio: Audio, second: int) -> bool:
    """Whether this second sounds as it was played, within its middle half."""
    part = audio.samples[round((second + 0.25) * RATE) : round((second + 0.75) * RATE)]
    return abs(heard_frequency_hz(part, RATE) - (300 + 100 * second)) < 5


@pytest.mark.parametrize("how", SPOILT)
@pytest.mark.parametrize("name", ["a.flac", "a.ogg", "a.m4a", "a.mp3", "a.webm", "a.opus"])
def test_what_follows_damage_keeps_its_time(tmp_path: Path, name: str, how: str) -> None:
    """Every second outside the reported stretch sounds as played, to the end of the recording."""
    path = _rising_steps(tmp_path / name)
    _spoil(path, how)
    audio = decode(path, RATE)
    assert audio.unread
    assert audio.broken_off_s is None
    assert audio.duration_s == pytest.approx(SECONDS, abs=0.1)
    first, last = audio.unread[0].start_s, audio.unread[-1].end_s
    assert 4.0 < first < last < 15.0  # a cluster of webm is five seconds long
    outside = [one for one in range(SECONDS) if one + 1 < first or one > last]
    assert len(outside) >= 8
    assert [one for one in outside if not _is_at(audio, one)] == []


def test_the_damaged_stretch_is_silent_and_no_longer_than_it_is(tmp_path: Path) -> None:
    """A tenth of an mp3 of one bit rate is a tenth of its time."""
    path = _rising_steps(tmp_path / "a.mp3")
    _spoil(path, "zeros")
    audio = decode(path, RATE)
    (spoilt,) = audio.unread
    assert spoilt.end_s - spoilt.start_s == pytest.approx(0.1 * SECONDS, abs=0.1)
    inside = slice(round((spoilt.start_s + 0.05) * RATE), round((spoilt.end_s - 0.05) * RATE))
    assert np.abs(audio.samples[inside]).max() < 1e-3


def test_two_damaged_stretches_are_reported_as_two(tmp_path: Path) -> None:
    """In order, and what lies between them is heard."""
    path = _rising_steps(tmp_path / "a.m4a")
    _spoil(path, "zeros", 0.2, 0.25)
    _spoil(path, "zeros", 0.6, 0.65)
    audio = decode(path, RATE)
    assert len(audio.unread) == 2
    assert audio.unread[0].end_s < audio.unread[1].start_s
    assert _is_at(audio, 6)
    assert _is_at(audio, 14)


def test_a_recording_that_is_mostly_damaged_is_refused(tmp_path: Path) -> None:
    """Nobody is helped by a take of a few notes."""
    path = _rising_steps(tmp_path / "a.m4a")
    _spoil(path, "zeros", 0.1, 0.9)
    with pytest.raises(Complaint, match=r"most of a\.m4a is damaged .* copy or export it again"):
        decode(path, RATE)


def test_two_mp3s_in_one_file_are_no_damage(tmp_path: Path) -> None:
    """Joined as they are, with titles and a picture between them: no silence, nothing reported."""
    first = _rising_steps(tmp_path / "a.mp3").read_bytes()
    size = 30_000
    tag = b"ID3\x04\x00\x00" + bytes(size >> shift & 0x7F for shift in (21, 14, 7, 0))
    (tmp_path / "b.mp3").write_bytes(first + tag + b"APIC" + bytes(size - 4) + first)
    audio = decode(tmp_path / "b.mp3", RATE)
    assert audio.unread == ()
    assert audio.duration_s == pytest.approx(2 * SECONDS, abs=0.2)


@pytest.mark.parametrize("live", [False, True])
def test_wherever_a_webm_is_cut_it_is_reported(tmp_path: Path, live: bool) -> None:
    """Also one without any length, as browsers write while they record."""
    sound = sine(440, 12.0, 48_000)
    path = encode(tmp_path / "a.webm", sound, 48_000, "libopus", **({"live": "1"} if live else {}))
    assert decode(path, RATE).broken_off_s is None
    whole, rng = path.read_bytes(), np.random.default_rng(4)
    kept = [int(at) for at in rng.integers(len(whole) // 2, len(whole) - 8, 12)]
    reported = 0
    for at in [*kept, int(0.99 * len(whole))]:
        path.write_bytes(whole[:at])
        reported += decode(path, RATE).broken_off_s is not None
    assert reported >= 12  # of 13: a cut just between two blocks leaves no trace


@pytest.mark.parametrize("mode", ["CONSTANT", "VARIABLE"])
def test_wherever_an_mp3_is_cut_it_is_reported(tmp_path: Path, mode: str) -> None:
    """With a header that counts the frames, and without one (its words blotted out)."""
    path = tmp_path / "a.mp3"
    soundfile.write(path, sine(440, 12.0, CUT), CUT, format="MP3", bitrate_mode=mode)
    whole, rng = path.read_bytes(), np.random.default_rng(5)
    for data in (whole, whole.replace(b"Xing", bytes(4)).replace(b"Info", bytes(4))):
        path.write_bytes(data)
        assert decode(path, RATE).broken_off_s is None
        kept = [int(at) for at in rng.integers(len(data) // 2, len(data) - 8, 12)]
        reported = 0
        for at in [*kept, int(0.99 * len(data))]:
            path.write_bytes(data[:at])
            reported += decode(path, RATE).broken_off_s is not None
        assert reported >= 12  # of 13: a cut just between two frames leaves no trace
