"""What happens to the sound between the strings and the file: rooms, phones, noises, company.

All functions take and give float32 samples of one channel at `rate_hz` and draw from the
given generator. Levels: `level_db` compares root mean squares over the parts of the sound
that are not silence. Nothing here moves an attack in time: the first sample of every room
response is the direct sound.
"""

import numpy as np
from scipy import signal

SILENCE = 1e-4
PEAK = 0.8


def rms(sound: np.ndarray) -> float:
    """Root mean square over the samples that sound at all; 0 for silence."""
    loud = sound[np.abs(sound) > SILENCE]
    return float(np.sqrt(np.mean(loud.astype(np.float64) ** 2))) if len(loud) else 0.0


def levelled(sound: np.ndarray, *, peak: float = PEAK) -> np.ndarray:
    """The sound scaled to a peak; silence stays silence."""
    top = float(np.max(np.abs(sound), initial=0.0))
    return (sound * (peak / top)).astype(np.float32) if top > 0 else sound


def mixed(sound: np.ndarray, other: np.ndarray, *, level_db: float) -> np.ndarray:
    """`other` added at `level_db` against `sound`, repeated or cut to its length."""
    loudness, against = rms(sound), rms(other)
    if not against:
        return sound
    gain = (loudness or 0.05) / against * 10 ** (level_db / 20)
    return (sound + gain * np.resize(other, len(sound))).astype(np.float32)


def room(
    rng: np.random.Generator,
    sound: np.ndarray,
    rate_hz: int,
    *,
    rt60_s: float | None = None,
    direct_db: float | None = None,
) -> np.ndarray:
    """A room: direct sound, early reflections, and noise that decays 60 dB in RT60.

    Drawn unless given: RT60 0.25 to 1.2 s, falling towards the treble; direct to
    reverberant level 0 to 12 dB.
    """
    response = room_response(rng, rate_hz, rt60_s=rt60_s, direct_db=direct_db)
    return signal.fftconvolve(sound, response)[: len(sound)].astype(np.float32)


def room_response(
    rng: np.random.Generator,
    rate_hz: int,
    *,
    rt60_s: float | None = None,
    direct_db: float | None = None,
) -> np.ndarray:
    """An impulse response with its direct sound (1.0) at sample 0; see `room`."""
    rt60_s = rt60_s or float(rng.choice([0.25, 0.4, 0.6, 0.9, 1.2]))
    times = np.arange(round(rt60_s * rate_hz)) / rate_hz
    tail = np.zeros(len(times))
    for low, high, share in ((80, 500, 1.1), (500, 2000, 1.0), (2000, 7000, 0.7)):
        band = signal.butter(2, (low, high), "bandpass", fs=rate_hz, output="sos")
        noise = signal.sosfilt(band, rng.standard_normal(len(times)))
        tail += noise * 10 ** (-3 * times / (rt60_s * share))
    tail[: round(0.006 * rate_hz)] = 0
    for _ in range(int(rng.integers(4, 10))):
        at = rng.uniform(0.003, 0.035)
        tail[round(at * rate_hz)] += rng.choice([-1, 1]) * rng.uniform(1, 4) * np.std(tail) * 6
    direct_db = float(rng.uniform(0, 12)) if direct_db is None else direct_db
    response = tail * (10 ** (-direct_db / 20) / np.sqrt(np.sum(tail**2)))
    response[0] = 1.0
    return response


def phone(rng: np.random.Generator, sound: np.ndarray, rate_hz: int) -> np.ndarray:
    """A phone on the piano's lid: narrow band, automatic gain, hiss, some clipping.

    Half of the recordings carry the room as well.
    """
    if rng.random() < 0.5:
        sound = room(rng, sound, rate_hz)
    low, high = float(rng.uniform(90, 200)), float(rng.uniform(4500, 7000))
    order = int(rng.integers(1, 4))
    sos = signal.butter(order, (low, high), "bandpass", fs=rate_hz, output="sos")
    narrow = signal.sosfilt(sos, _resonances(rng, sound, rate_hz))
    gained = automatic_gain(levelled(narrow), rate_hz, strength=float(rng.uniform(0.2, 0.7)))
    noisy = mixed(gained, hiss(rng, len(sound), rate_hz), level_db=-float(rng.uniform(28, 45)))
    drive = float(rng.choice([0.7, 0.9, 1.3]))
    return np.clip(levelled(noisy, peak=drive), -0.98, 0.98).astype(np.float32)


def _resonances(rng: np.random.Generator, sound: np.ndarray, rate_hz: int) -> np.ndarray:
    """Two or three broad peaks and dips of a small case, within 6 dB."""
    shaped = sound
    for _ in range(int(rng.integers(2, 4))):
        centre = float(np.exp(rng.uniform(np.log(300), np.log(5000))))
        b, a = signal.iirpeak(centre, Q=float(rng.uniform(0.7, 3)), fs=rate_hz)
        gain = 10 ** (rng.uniform(-6, 6) / 20) - 1
        shaped = shaped + gain * signal.lfilter(b, a, sound)
    return shaped


def automatic_gain(sound: np.ndarray, rate_hz: int, *, strength: float) -> np.ndarray:
    """Automatic gain: level follows with 5 ms up, 250 ms down; `strength` 0..1 evens it out."""
    block = max(1, round(0.001 * rate_hz))
    padded = np.pad(np.abs(sound), (0, -len(sound) % block))
    peaks = padded.reshape(-1, block).max(axis=1)
    rise, fall = 1 - np.exp(-1 / 5), 1 - np.exp(-1 / 250)
    level, levels = 0.0, np.empty(len(peaks))
    for index, value in enumerate(peaks):
        level += (value - level) * (rise if value > level else fall)
        levels[index] = level
    gain = (np.maximum(levels, 0.02) / 0.5) ** -strength
    return (sound * np.repeat(gain, block)[: len(sound)]).astype(np.float32)


def hiss(rng: np.random.Generator, n_samples: int, rate_hz: int) -> np.ndarray:
    """Microphone noise: white, tilted a little towards the bass."""
    white = rng.standard_normal(n_samples)
    return signal.lfilter([1.0], [1.0, -0.5], white).astype(np.float32)


def hum(rng: np.random.Generator, n_samples: int, rate_hz: int) -> np.ndarray:
    """Mains hum at 50 or 60 Hz with its harmonics, steady."""
    mains = float(rng.choice([50.0, 60.0]))
    times = np.arange(n_samples) / rate_hz
    parts = [rng.uniform(0.1, 1) / n * np.sin(2 * np.pi * mains * n * times) for n in range(1, 9)]
    return np.sum(parts, axis=0).astype(np.float32)


def applause(rng: np.random.Generator, n_samples: int, rate_hz: int) -> np.ndarray:
    """Many short bursts of band-passed noise: clapping hands, 40 to 150 a second."""
    sound = np.zeros(n_samples)
    clap_length = round(0.012 * rate_hz)
    decay = np.exp(-np.arange(clap_length) / (0.003 * rate_hz))
    for start in rng.integers(0, n_samples, int(n_samples / rate_hz * rng.uniform(40, 150))):
        burst = rng.standard_normal(clap_length) * decay * rng.uniform(0.1, 1)
        part = burst[: n_samples - start]
        sound[start : start + len(part)] += part
    sos = signal.butter(1, (500, 3500), "bandpass", fs=rate_hz, output="sos")
    return signal.sosfilt(sos, sound).astype(np.float32)
