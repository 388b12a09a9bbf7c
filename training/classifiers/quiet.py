"""Recordings in which nobody plays, and levels as recordings have them."""

import numpy as np

from fixtures.sounded import conditions
from fixtures.sounded.company import has_speech, speech

KINDS = ("hiss", "hum", "applause", "speech", "speech", "silence")
QUIET_S = 20.0


def quiet(rng: np.random.Generator, index: int, rate_hz: int) -> np.ndarray:
    """The recording of a number: the kinds take turns."""
    kind, length = KINDS[index % len(KINDS)], round(QUIET_S * rate_hz)
    sound = np.zeros(length, np.float32)
    if kind == "speech" and has_speech():
        sound = speech(rng, length, rate_hz)
    elif kind in ("hiss", "hum", "applause"):
        sound = getattr(conditions, kind)(rng, length, rate_hz)
    if kind != "silence":
        floor = conditions.hiss(rng, length, rate_hz)
        sound = conditions.mixed(sound, floor, level_db=float(rng.uniform(-60, -30)))
    return some_level(rng, sound)


def some_level(rng: np.random.Generator, sound: np.ndarray) -> np.ndarray:
    """The sound with a peak of -24 to -1 dB."""
    return conditions.levelled(sound, peak=10 ** (float(rng.uniform(-24, -1)) / 20))
