"""A sound file with short bursts at known times."""

from pathlib import Path

import numpy as np
import soundfile

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
