import hashlib
import os
import struct
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from stackline.listen.recording.decode import decode
from stackline.shared.complaint import Complaint
from tests.support.sound.sounds import encode, sine

RATE = 22_050


def heard_frequency_hz(samples: np.ndarray, rate_hz: int) -> float:
    """Of the strongest line of the spectrum (a line is 1 / duration wide)."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(spectrum.argmax()) * rate_hz / len(samples)


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
def test_every_wav_subtype_is_read_as_soundfile_reads_it(tmp_path: Path, subtype: str) -> None:
    """Samples agree with libsndfile's (the outside reader) to one step of float32."""
    path = tmp_path / "take.wav"
    stereo = np.stack([sine(440, 0.5, 44_100), sine(660, 0.5, 44_100)], axis=1)
    soundfile.write(path, stereo, 44_100, subtype=subtype)
    expected = soundfile.read(path, dtype="float64")[0].mean(axis=1)
    np.testing.assert_allclose(decode(path, 44_100).samples[:], expected, atol=2e-7)


@pytest.mark.parametrize("channels", range(1, 9))
def test_channels_are_averaged(tmp_path: Path, channels: int) -> None:
    """Whatever the layout: one channel at 0.8 and the others at 0.1 give their mean."""
    path = tmp_path / "take.wav"
    sound = np.full((4410, channels), 0.1)
    sound[:, -1] = 0.8
    soundfile.write(path, sound, 44_100, subtype="FLOAT")
    expected = (0.8 + 0.1 * (channels - 1)) / channels
    np.testing.assert_allclose(decode(path, 44_100).samples[:], expected, atol=1e-6)


@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 44_100, 48_000, 96_000, 192_000])
def test_a_sine_keeps_frequency_time_and_level_at_any_rate(tmp_path: Path, rate_hz: int) -> None:
    """A known sine (resampy's own check) comes out as that sine, to -70 dB in its middle."""
    path = tmp_path / "take.wav"
    soundfile.write(path, sine(1000, 2.0, rate_hz), rate_hz, subtype="FLOAT")
    audio = decode(path, RATE)
    assert len(audio.samples) == pytest.approx(2.0 * RATE, abs=2)
    middle = slice(4000, 40_000)
    expected = sine(1000, 2.0, RATE)[middle]
    np.testing.assert_allclose(audio.samples[middle], expected, atol=1e-4)


@pytest.mark.parametrize(
    ("name", "codec", "rate_hz"),
    [
        ("take.m4a", "aac", 44_100),
        ("take.mp4", "aac", 48_000),
        ("take.aac", "aac", 44_100),
        ("take.webm", "libopus", 48_000),
        ("take.opus", "libopus", 48_000),
        ("take.mp3", "libmp3lame", 44_100),
        ("take.flac", "flac", 44_100),
        ("take.ogg", "libvorbis", 44_100),
    ],
)
def test_every_format_that_a_player_has(
    tmp_path: Path, name: str, codec: str, rate_hz: int
) -> None:
    """A sine of 1 kHz comes out at 1 kHz, its length and loudness as encoded."""
    sound = sine(1000, 3.0, rate_hz)
    if codec in ("flac", "libvorbis"):
        path = tmp_path / name
        soundfile.write(path, sound, rate_hz)
    else:
        path = encode(tmp_path / name, sound, rate_hz, codec)
    samples = decode(path, RATE).samples[:]
    assert len(samples) / RATE == pytest.approx(3.0, abs=0.08)
    middle = samples[RATE : 2 * RATE]
    assert heard_frequency_hz(middle, RATE) == pytest.approx(1000, abs=1)
    assert np.sqrt(np.mean(middle**2)) == pytest.approx(0.3 / np.sqrt(2), rel=0.05)


def test_the_digest_is_of_the_file(tmp_path: Path) -> None:
    """SHA-256 of b"abc" is FIPS 180-4's example; of a file it is the same function."""
    path = tmp_path / "take.wav"
    soundfile.write(path, sine(440, 0.1, 8000), 8000)
    assert hashlib.sha256(b"abc").hexdigest().startswith("ba7816bf8f01cfea")
    assert decode(path, 8000).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def wav(path: Path, sound: np.ndarray) -> Path:
    """Write a wav of floats at 8 kHz."""
    soundfile.write(path, sound, 8000, subtype="FLOAT")
    return path


def test_a_title_that_is_not_utf8(tmp_path: Path) -> None:
    """RIFF's INAM in Latin-1 (what older recorders write) is no reason to refuse the sound."""
    title = b"LIST" + struct.pack("<I", 18) + b"INFOINAM" + struct.pack("<I", 6) + b"caf\xe9\0\0"
    whole = wav(tmp_path / "a.wav", sine(440, 0.5, 8000)).read_bytes()
    titled = whole[:12] + title + whole[12:]
    path = tmp_path / "b.wav"
    path.write_bytes(titled[:4] + struct.pack("<I", len(titled) - 8) + titled[8:])
    assert len(decode(path, 8000).samples) == 4000


def test_missing_file(tmp_path: Path) -> None:
    """One sentence names the file."""
    with pytest.raises(Complaint, match=r"there is no file .*none\.wav; check the name"):
        decode(tmp_path / "none.wav", RATE)


def test_folder(tmp_path: Path) -> None:
    """A folder is no recording."""
    with pytest.raises(Complaint, match="is a folder; name one recording in it"):
        decode(tmp_path, RATE)


def test_zero_bytes(tmp_path: Path) -> None:
    """An empty file is told apart from a broken one."""
    (tmp_path / "a.wav").touch()
    with pytest.raises(Complaint, match=r"a.wav is empty \(zero bytes\)"):
        decode(tmp_path / "a.wav", RATE)


def test_zero_seconds(tmp_path: Path) -> None:
    """A good header without samples holds no sound."""
    with pytest.raises(Complaint, match=r"holds no sound \(zero seconds\)"):
        decode(wav(tmp_path / "a.wav", np.zeros(0)), RATE)


@pytest.mark.parametrize("name", ["a.wav", "a.mp3", "a.m4a", "a.flac"])
def test_text_under_a_sound_file_s_name(tmp_path: Path, name: str) -> None:
    """Whatever its name, text is no recording."""
    (tmp_path / name).write_text("Dm7 | G7 | Cmaj7 |\n" * 50)
    with pytest.raises(Complaint, match=r"not a recording that can be read|holds no sound"):
        decode(tmp_path / name, RATE)


def test_m4a_cut_off_before_its_index(tmp_path: Path) -> None:
    """An m4a's index stands at its end: cut off, nothing can be read."""
    path = encode(tmp_path / "a.m4a", sine(440, 5.0, 44_100), 44_100, "aac")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(Complaint, match=r"a\.m4a is not a recording that can be read"):
        decode(path, RATE)


def test_channels_that_cancel_each_other(tmp_path: Path) -> None:
    """One of two turned around: the sound is heard at its full level, not as nothing."""
    path, sound = tmp_path / "a.wav", 0.5 * sine(440, 2.0, 8000)
    soundfile.write(path, np.stack([sound, -sound], axis=1), 8000, subtype="FLOAT")
    np.testing.assert_allclose(decode(path, 8000).samples[:], sound, atol=1e-6)
    soundfile.write(path, np.stack([0.5 * sound, -sound], axis=1), 8000, subtype="FLOAT")
    np.testing.assert_allclose(decode(path, 8000).samples[:], -0.25 * sound, atol=1e-6)


@pytest.mark.parametrize("hiss", [0.0, 1e-4])
def test_one_silent_channel_changes_nothing(tmp_path: Path, hiss: float) -> None:
    """A recorder with one microphone of two plugged in gives what the microphone heard."""
    sound = sine(440, 1.0, 8000)
    other = hiss * np.random.default_rng(1).standard_normal(len(sound))
    path = tmp_path / "a.wav"
    soundfile.write(path, np.stack([other, sound], axis=1), 8000, subtype="FLOAT")
    alone = wav(tmp_path / "b.wav", sound)
    assert np.array_equal(decode(path, 8000).samples[:], decode(alone, 8000).samples[:])


@pytest.mark.parametrize("rate_hz", [100, 3_999, 1_000_000])
def test_a_rate_that_no_recording_has(tmp_path: Path, rate_hz: int) -> None:
    """A header that says so would blow a file up, or is no sound."""
    soundfile.write(tmp_path / "a.wav", np.zeros(4000), rate_hz)
    with pytest.raises(Complaint, match=rf"has {rate_hz} samples a second; allowed are 4000 to"):
        decode(tmp_path / "a.wav", RATE)


@pytest.mark.skipif(os.name != "posix", reason="devices and pipes of POSIX")
def test_what_is_no_file_is_not_waited_for(tmp_path: Path) -> None:
    """A pipe that nobody writes to, a device without an end."""
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", Path("/dev/zero")):
        with pytest.raises(Complaint, match="is a device or a pipe; name a recording kept in"):
            decode(path, RATE)


@pytest.mark.skipif(os.name != "posix", reason="names are bytes on POSIX alone")
def test_a_name_that_is_not_utf8(tmp_path: Path) -> None:
    """The bytes that are no text are shown as U+FFFD, as the Unicode Standard has it (3.9)."""
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.wav"))
    try:
        wav(tmp_path / "a.wav", sine(440, 0.5, 8000)).rename(path)
    except OSError:
        pytest.skip("this file system takes UTF-8 names alone")
    assert decode(path, 8000).name == "caf\ufffd.wav"


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf, 1e30])
def test_samples_that_are_no_numbers(tmp_path: Path, value: float) -> None:
    """They are refused with the place of the first."""
    sound = sine(440, 3.0, 8000)
    sound[12_000] = value
    with pytest.raises(Complaint, match=r"not numbers \(first at 0:01.5\); export it again"):
        decode(wav(tmp_path / "a.wav", sound), RATE)


def test_a_film_without_sound(tmp_path: Path) -> None:
    """A video is fine, but only with a sound track."""
    path = tmp_path / "a.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=10)
        stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
        for _ in range(5):
            frame = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    with pytest.raises(Complaint, match="has no sound track"):
        decode(path, RATE)


def test_progress_runs_to_one(tmp_path: Path) -> None:
    """Fractions rise and end at 1."""
    told: list[float] = []
    decode(wav(tmp_path / "a.wav", sine(440, 3.0, 8000)), RATE, lambda _, part: told.append(part))
    assert told == sorted(told)
    assert told[-1] == 1.0
