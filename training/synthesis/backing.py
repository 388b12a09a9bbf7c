"""Who else plays in a clip: bass, drums, a lead, as what is not to be heard."""

import numpy as np

from stackline.listen.piano.features import SAMPLE_RATE_HZ
from training.synthesis.clip_score import BASS, DRUMS, LEAD, Clip

BASS_KEYS = range(28, 68)
LEAD_KEYS = range(46, 82)


def backing(clip: Clip) -> None:
    """Bass, drums and sometimes a lead, each there or not."""
    rng = clip.rng
    beat = clip.seconds(60 / rng.uniform(55, 240))
    start = int(rng.uniform(-0.8, 0.3) * SAMPLE_RATE_HZ)
    kind = rng.random()
    if kind < 0.85:
        _bass(clip, start, beat)
    if kind > 0.15:
        _drums(clip, start, beat)
    if rng.random() < 0.35:
        _lead(clip, start, beat)


def _bass(clip: Clip, onset: int, beat: int) -> None:
    rng, voice = clip.rng, clip.rng.random()
    key = int(rng.integers(30, 52))
    step, legato = beat * int(rng.choice([1, 1, 2])), rng.uniform(0.5, 1.1)
    while onset < clip.length:
        key += int(rng.choice([-7, -5, -3, -2, -1, 1, 2, 3, 5, 7, 12, -12]))
        key = int(np.clip(key, BASS_KEYS[0], BASS_KEYS[-1] - 8))
        late = onset + int(rng.normal(0, 120))
        clip.add(BASS, key, late, late + int(step * legato), voice, 10 ** (rng.normal(0, 2) / 20))
        onset += step if rng.random() < 0.85 else step // 2


def _drums(clip: Clip, onset: int, beat: int) -> None:
    """Strokes on a grid of half beats or triplets; each drum keeps its level."""
    rng = clip.rng
    kit = rng.random(4)
    levels = 10 ** (rng.normal(0, 6, 4) / 20)
    chances = rng.choice([0.9, 0.5, 0.25, 0.1], (4, 4))
    grid, slot = beat / int(rng.choice([2, 2, 3, 4])), 0
    while onset + slot * grid < clip.length:
        for drum in range(4):
            if rng.random() < chances[drum, slot % 4]:
                time = int(onset + slot * grid + rng.normal(0, 100))
                gain = levels[drum] * 10 ** (rng.normal(0, 2) / 20)
                clip.add(DRUMS, 0, time, time + clip.length, float(kit[drum]), gain)
        slot += 1


def _lead(clip: Clip, onset: int, beat: int) -> None:
    rng, voice, key = clip.rng, clip.rng.random(), int(clip.rng.integers(52, 76))
    while onset < clip.length:
        key = int(np.clip(key + round(rng.normal(0, 3)), LEAD_KEYS[0], LEAD_KEYS[-1]))
        gap = int(beat * rng.choice([0.5, 1, 1, 2, 3]))
        clip.add(LEAD, key, onset, onset + int(gap * rng.uniform(0.6, 1.0)), voice, 0.8)
        onset += gap
