"""What there is to be spoiled: a take, a library, a recording in every format, each whole."""

from functools import cache
from pathlib import Path

import av
import numpy as np
import soundfile

from stackline.practice.library.library import Library
from stackline.shared.codec.codec_write import to_json
from stackline.shared.take import Take

BUNDLED = Path(__file__).parents[2] / "fixtures" / "warmup.m4a"
RATE_HZ = 22_050
CODECS = {"mp3": "libmp3lame", "m4a": "aac", "aac": "aac", "webm": "libopus", "opus": "libopus"}
ENDINGS = ("wav", "flac", "ogg", "aiff", *CODECS)
_MADE: dict[str, bytes] = {}


@cache
def sound_take() -> Take:
    """The bundled recording as it is heard: voicings, motions, rhythm and all."""
    from stackline.pipeline import transcribe

    return transcribe(BUNDLED)


def take_in(folder: Path) -> Path:
    """That take as JSON."""
    path = folder / "take.json"
    path.write_text(to_json(sound_take()), encoding="utf-8")
    return path


def library_in(folder: Path) -> Path:
    """A library of that take alone."""
    path = folder / "library.db"
    with Library(path) as kept:
        kept.add(sound_take())
    return path


def struck(midi: int, rate_hz: int = RATE_HZ, seconds: float = 1.5) -> np.ndarray:
    """A struck note: eight partials that die away, after a tenth of a second of silence."""
    times = np.arange(round(seconds * rate_hz)) / rate_hz
    f0 = 440 * 2 ** ((midi - 69) / 12)
    rows = [np.sin(2 * np.pi * n * f0 * times) * np.exp(-n * times) / n for n in range(1, 9)]
    note = np.sum(rows, axis=0) * np.minimum(1.0, times / 0.002)
    return 0.3 * np.concatenate([np.zeros(rate_hz // 10), note])


def recording(ending: str, folder: Path) -> bytes:
    """Three struck notes in a format; made once."""
    if ending not in _MADE:
        path = folder / f"whole.{ending}"
        codec = CODECS.get(ending)
        rate_hz = 48_000 if codec == "libopus" else RATE_HZ
        sound = np.concatenate([struck(midi, rate_hz) for midi in (60, 67, 64)])
        if codec is None:
            soundfile.write(path, sound[:, np.newaxis], rate_hz)
        else:
            _encode(path, sound, rate_hz, codec)
        _MADE[ending] = path.read_bytes()
        path.unlink()
    return _MADE[ending]


def _encode(path: Path, sound: np.ndarray, rate_hz: int, codec: str) -> None:
    options = {"movflags": "faststart"} if path.suffix == ".m4a" else {}
    with av.open(str(path), "w", options=options) as sink:
        stream = sink.add_stream(codec, rate=rate_hz, layout="mono")
        assert isinstance(stream, av.AudioStream)
        frame = av.AudioFrame.from_ndarray(
            sound.astype(np.float32)[np.newaxis], format="fltp", layout="mono"
        )
        frame.sample_rate = rate_hz
        sink.mux([*stream.encode(frame), *stream.encode(None)])
