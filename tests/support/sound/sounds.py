"""Small synthesised sounds for tests: harmonic tones of the MIDI pitch relation, and files.

f = 440 * 2 ** ((n - 69) / 12): MIDI Tuning Standard; the sines are known exactly.
"""

from collections.abc import Sequence
from pathlib import Path

import av
import numpy as np


def sine(
    frequency_hz: float, duration_s: float, rate_hz: int, *, amplitude: float = 0.3
) -> np.ndarray:
    """A sine, float64."""
    return amplitude * np.sin(
        2 * np.pi * frequency_hz * np.arange(round(duration_s * rate_hz)) / rate_hz
    )


def tone(midi: float, duration_s: float, rate_hz: int, *, decay: float = 2.0) -> np.ndarray:
    """A plucked sound of eight harmonics, peak about 0.1."""
    times = np.arange(round(duration_s * rate_hz)) / rate_hz
    frequency = 440.0 * 2.0 ** ((midi - 69) / 12)
    partials = [np.sin(2 * np.pi * frequency * k * times) / k**1.5 for k in range(1, 9)]
    sound = 0.06 * np.sum(partials, axis=0) * np.exp(-decay * times)
    fade = min(len(sound), round(0.01 * rate_hz))
    sound[len(sound) - fade :] *= np.linspace(1, 0, fade)
    return sound


def chords(
    played: Sequence[tuple[float, Sequence[float]]],
    *,
    duration_s: float,
    rate_hz: int,
    ring_s: float = 0.8,
) -> np.ndarray:
    """Chords (onset in seconds, MIDI pitches), each ringing for `ring_s`."""
    sound = np.zeros(round(duration_s * rate_hz))
    for onset_s, pitches in played:
        start = round(onset_s * rate_hz)
        for pitch in pitches:
            wave = tone(pitch, ring_s, rate_hz)[: len(sound) - start]
            sound[start : start + len(wave)] += wave
    return sound


def encode(path: Path, sound: np.ndarray, rate_hz: int, codec: str, **options: str) -> Path:
    """Write one channel with a codec of FFmpeg's libraries, in the container of the suffix."""
    with av.open(str(path), "w", options=options) as container:
        stream = container.add_stream(codec, rate=rate_hz, layout="mono")
        assert isinstance(stream, av.AudioStream)
        frame = av.AudioFrame.from_ndarray(
            sound.astype(np.float32)[None, :], format="fltp", layout="mono"
        )
        frame.sample_rate = rate_hz
        container.mux([*stream.encode(frame), *stream.encode(None)])
    return path
