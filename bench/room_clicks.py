"""What counts the time in a room: metronomes, sticks, snapped fingers, clapped hands.

Sounds of some milliseconds, made, not sampled: damped tones of wood and bursts of noise.
Float32 samples of one channel at `rate_hz`; each click begins at its sample 0.
"""

import numpy as np
from scipy import signal

KINDS = ("woodblock", "mechanical", "sticks", "snap", "clap")


def make_click(
    rng: np.random.Generator, kind: str, rate_hz: int, *, accent: bool = False
) -> np.ndarray:
    """One click, peak 1.0; an accented one is higher and brighter."""
    shift = 1.25 if accent else 1.0
    if kind == "woodblock":
        sound = _ring(rng, (1150 * shift, 2480 * shift), 0.012, rate_hz) + 0.4 * _burst(
            rng, (1500, 7000), 0.003, rate_hz
        )
    elif kind == "mechanical":
        sound = _burst(rng, (1800 * shift, 7500), 0.004, rate_hz)
    elif kind == "sticks":
        sound = _ring(rng, (2900 * shift, 4700), 0.006, rate_hz) + 0.5 * _burst(
            rng, (2000, 7500), 0.004, rate_hz
        )
    elif kind == "snap":
        sound = _burst(rng, (1400, 4500), 0.008, rate_hz)
    elif kind == "clap":
        sound = _burst(rng, (700, 4000), 0.014, rate_hz)
    else:
        raise ValueError(f"no click is called {kind!r}; there are {KINDS}")
    return (sound / np.max(np.abs(sound))).astype(np.float32)


def click_track(
    rng: np.random.Generator, times_s: np.ndarray, accents: np.ndarray, n_samples: int, rate_hz: int
) -> np.ndarray:
    """One kind of click at some times; levels differ by a decibel or two from click to click."""
    kind = KINDS[rng.integers(len(KINDS))]
    sound = np.zeros(n_samples, np.float32)
    for time_s, accent in zip(times_s, accents, strict=True):
        click = make_click(rng, kind, rate_hz, accent=bool(accent))
        click = click * np.float32(10 ** (rng.normal(0, 1.5) / 20))
        start = round(float(time_s) * rate_hz)
        part = sound[start : start + len(click)]
        part += click[: len(part)]
    return sound


def _ring(
    rng: np.random.Generator, tones_hz: tuple[float, ...], decay_s: float, rate_hz: int
) -> np.ndarray:
    times = np.arange(round(0.08 * rate_hz)) / rate_hz
    tones = [np.sin(2 * np.pi * tone * times + rng.uniform(0, 0.3)) for tone in tones_hz]
    return np.sum(tones, axis=0) * np.exp(-times / decay_s)


def _burst(
    rng: np.random.Generator, band_hz: tuple[float, float], decay_s: float, rate_hz: int
) -> np.ndarray:
    times = np.arange(round(0.08 * rate_hz)) / rate_hz
    high = min(band_hz[1], 0.45 * rate_hz)
    sos = signal.butter(2, (band_hz[0], high), "bandpass", fs=rate_hz, output="sos")
    noise = signal.sosfilt(sos, rng.standard_normal(len(times)) * np.exp(-times / decay_s))
    return noise / np.max(np.abs(noise))
