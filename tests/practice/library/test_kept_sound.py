"""Sound kept with voicings: each can be heard again, its size is known, and it goes when asked."""

import base64
import io
import re
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from stackline.cli import commands
from stackline.practice.library.kept_sound import is_kept, of_take, size
from stackline.practice.library.library import Library
from stackline.report.sound.sound_pieces import BEFORE_S, PIECE_S, RATE, pack, piece
from stackline.shared.sound import Audio
from tests.support.sound.sounds import chords, sine

HZ = RATE.sample_rate_hz


def _heard(data: bytes) -> np.ndarray:
    """The samples of an MP4, by FFmpeg's own decoder."""
    with av.open(io.BytesIO(data), "r") as container:
        return np.concatenate([frame.to_ndarray()[0] for frame in container.decode(audio=0)])


def _pitch_hz(sound: np.ndarray) -> float:
    """Where the spectrum is strongest."""
    return float(np.argmax(np.abs(np.fft.rfft(sound))) * HZ / len(sound))


@pytest.mark.parametrize(("moment_s", "hz"), [(0.1, 300.0), (12.0, 500.0), (14.5, 500.0),
                                              (40.0, 800.0)])  # fmt: skip
def test_each_moment_is_heard_again(moment_s: float, hz: float) -> None:
    """A tone that tells where it is; stretches that touch are kept once."""
    tones = [sine(one, 10.0, HZ) for one in (300.0, 500.0, 600.0, 700.0, 800.0)]
    audio = Audio(name="x", samples=np.concatenate(tones).astype(np.float32), sample_rate_hz=HZ,
                  sha256="")  # fmt: skip
    data, spans = pack(audio, [0.1, 12.0, 14.5, 40.0 + BEFORE_S])
    assert len(spans) == 3
    assert spans[1] == pytest.approx((12.0 - BEFORE_S, 14.5 - BEFORE_S + PIECE_S))
    found = piece(data, spans, moment_s if moment_s < 40 else moment_s + BEFORE_S)
    assert found is not None
    sound = _heard(found.data)
    assert len(sound) / HZ == pytest.approx(PIECE_S, abs=0.15)
    assert _pitch_hz(sound[: 2 * HZ]) == pytest.approx(hz, abs=2.0)
    assert piece(data, spans, 25.0) is None


@pytest.fixture
def recording(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Nine seconds of chords, and a player who has nothing yet."""
    monkeypatch.setenv("STACKLINE_HOME", str(tmp_path / "home"))
    played = [(0.5 + i, (53, 57, 60, 64) if i % 2 else (55, 59, 62, 65)) for i in range(8)]
    sound = chords(played, duration_s=9.0, rate_hz=16_000, ring_s=0.8)
    soundfile.write(tmp_path / "take.wav", sound, 16_000)
    return tmp_path / "take.wav"


def _run(*words: str) -> str:
    result = CliRunner().invoke(commands, list(words), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_what_a_search_finds_can_be_heard(recording: Path, tmp_path: Path) -> None:
    """Kept with its size told, on the page as sound, gone after ``library sound off``."""
    assert "kB of sound" in _run("library", "add", str(recording))
    with Library() as library:
        place = library.take(1).voicings[1].attack.onset_s
        kept = of_take(library.store, 1)
        assert kept is not None
        assert any(a <= place < b for a, b in kept[1])
        assert size(library.store) == (1, len(kept[0]))
    page = tmp_path / "found.html"
    _run("library", "search", "--like", "1:1", "--page", str(page))
    html = page.read_text(encoding="utf-8")
    assert "media-src data:" in html
    (first, *_) = re.findall(r'src="data:audio/mp4;base64,([^"]+)"', html)
    assert np.abs(_heard(base64.b64decode(first))).max() > 0.01
    assert _run("library", "sound").startswith("sound is on: 1 take, ")
    assert "removed 1 take" in _run("library", "sound", "off", "--yes")
    with Library() as library:
        assert not is_kept(library.store)
        assert size(library.store) == (0, 0)
    assert "of sound" not in _run("library", "add", str(recording))
    _run("library", "search", "--like", "1:1", "--page", str(page))
    assert "no sound kept" in page.read_text(encoding="utf-8")
    _run("library", "sound", "on")
    assert "kB of sound" in _run("library", "add", str(recording))
