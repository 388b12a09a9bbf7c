"""Scores of short clips: which keys are struck when, how hard, for how long; and by what.

Everything is drawn from one generator, clip by clip, so a seed gives the same scores. Times
are samples of the clip at `SAMPLE_RATE_HZ` before any detuning of the whole. A batch is one
integer and one float array, padded with rows of gain 0, ready for the GPU.

What is drawn (see the functions): comping with human timing, pedal, tied and re-struck chords,
melodies over held chords, runs of single notes, chords alone, dense figures (`textures`); level
differences inside a chord; and clips in which nobody plays the piano. Beside it, in half of
the clips, bass, drums and a lead (`backing`).
"""

from dataclasses import dataclass

import numpy as np

from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from training.synthesis.backing import backing
from training.synthesis.clip_score import ROWS, Clip, chord, softer, strike_chord
from training.synthesis.textures import texture
from training.synthesis.voicings import Keys


@dataclass(frozen=True, kw_only=True, eq=False)
class Scores:
    """A batch. whole: int32 (batch, ROWS, 6): part, key or drum, tier, onset, release, voice.

    parts: float32 (batch, ROWS, 3): gain, release time constant in samples, velocity 0..1.
    detune: float32 (batch,) cents of the whole clip. backing_db: float32 (batch,) level of
    everything else against the piano. voice: 0..1, to be scaled to the voices at hand.
    """

    whole: np.ndarray
    parts: np.ndarray
    detune: np.ndarray
    backing_db: np.ndarray


def draw(rng: np.random.Generator, batch: int, length: int) -> Scores:
    """Scores of `batch` clips of `length` samples."""
    whole = np.zeros((batch, ROWS, 6), np.int32)
    parts = np.zeros((batch, ROWS, 3), np.float32)
    detune, others_db = np.zeros(batch, np.float32), np.zeros(batch, np.float32)
    for i in range(batch):
        rows, detune[i], others_db[i] = _clip(rng, length)
        if rows:
            table = np.array(rows, np.float64)
            whole[i, : len(rows), :5] = table[:, :5]
            whole[i, : len(rows), 5] = table[:, 5] * (1 << 20)
            parts[i, : len(rows)] = table[:, 6:]
    return Scores(whole=whole, parts=parts, detune=detune, backing_db=others_db)


def _clip(rng: np.random.Generator, length: int) -> tuple[list[tuple[float, ...]], float, float]:
    clip = Clip(rng, length)
    kind = rng.random()
    if kind < 0.46:
        _comping(clip)
    elif kind < 0.54:
        _melody_over_chords(clip)
    elif kind < 0.57:
        _runs(clip)
    elif kind < 0.65:
        _chords_alone(clip)
    elif kind < 0.94:
        texture(clip)
    nobody = kind >= 0.94
    accompanied = rng.random()
    if accompanied < 0.55 or (nobody and accompanied < 0.7):
        backing(clip)
    backing_db = float(rng.choice([-18, -12, -9, -6, -3, 0, 2]) + rng.uniform(-3, 3))
    return clip.rows, _detune(rng), backing_db


def _detune(rng: np.random.Generator) -> float:
    """Cents of the whole: mostly small, as after correction; sometimes anything up to 48."""
    if rng.random() < 0.7:
        return float(np.clip(rng.normal(0, 6), -48, 48))
    return float(rng.uniform(-48, 48))


def _loudness(rng: np.random.Generator) -> float:
    return float(np.clip(rng.normal(0.55, 0.18), 0.12, 1.0))


def _comping(clip: Clip) -> None:
    """Chords in a rhythm, dry, long or with pedal; half of them repeat or move."""
    rng = clip.rng
    beat = clip.seconds(60 / np.exp(rng.uniform(np.log(50), np.log(260))))
    steps = [(0.5, 1, 1.5, 2), (1, 2), (0.5, 1, 1.5, 2, 2.5, 3), (1 / 3, 2 / 3, 1, 4 / 3, 2)]
    pattern = steps[int(rng.integers(len(steps)))]
    loudness, swing = _loudness(rng), clip.seconds(0.008)
    onset, keys = int(rng.uniform(-0.8, 0.6) * SAMPLE_RATE_HZ), None
    dry, pedal = rng.uniform(0.2, 1.05), rng.random() < 0.22
    changes, lag = rng.random() < 0.3, rng.uniform(-0.03, 0.2)  # the pedal, once a chord
    uneven, tied = rng.random() < 0.25, rng.random() < 0.25
    while onset < clip.length:
        gap = max(int(rng.choice(pattern) * beat), clip.seconds(0.11))
        before, keys = keys, chord(rng, keys)
        ends = onset + int(gap * dry) + (int(rng.uniform(0, 2.5) * gap) if pedal else 0)
        if changes:
            ends = onset + gap + clip.seconds(max(0.0, lag + rng.normal(0, 0.03)))
        if tied and before is not None and rng.random() < 0.4:
            keys = _tied(clip, keys, before, onset, ends)
        if rng.random() < 0.06:
            ends += clip.length  # forgotten under the pedal
        late = int(rng.normal(0, swing))
        level = loudness * rng.uniform(0.7, 1.3)
        if uneven and rng.random() < 0.3:
            level = softer(clip, loudness * 1.2, rng.uniform(6, 22))
        strike_chord(clip, keys, onset + late, ends, level)
        onset += gap
        if rng.random() < 0.06:
            onset += int(rng.uniform(0.5, 1.5) * SAMPLE_RATE_HZ)


def _tied(clip: Clip, keys: Keys, before: Keys, onset: int, ends: int) -> Keys:
    """The keys to strike when those that both chords have are held."""
    common = {key for key in keys if key in before and clip.hold(key, onset, ends)}
    rest = tuple(key for key in keys if key not in common)
    return rest or keys


def _chords_alone(clip: Clip) -> None:
    """One chord, and after it has rung a while perhaps another, as someone tries voicings."""
    rng = clip.rng
    onset, keys = int(rng.uniform(-0.4, 1.2) * SAMPLE_RATE_HZ), None
    while onset < clip.length:
        keys = chord(rng, keys)
        gap = clip.seconds(rng.uniform(0.5, 2.5))
        ends = onset + int(gap * rng.choice([0.5, 0.9, 1.0, 1.0, 1.5]))
        strike_chord(clip, keys, onset, ends, _loudness(rng))
        onset += gap


def _melody_over_chords(clip: Clip) -> None:
    """Held chords, and over them (or under, or among them) single notes and octaves."""
    rng = clip.rng
    onset, keys = int(rng.uniform(-0.5, 0.5) * SAMPLE_RATE_HZ), None
    while onset < clip.length:
        keys = chord(rng, keys)
        span = clip.seconds(rng.uniform(0.8, 3.0))
        loudness = _loudness(rng)
        strike_chord(clip, keys, onset, onset + span, loudness)
        beside = softer(clip, loudness, rng.uniform(4, 20)) if rng.random() < 0.4 else loudness
        _line(clip, onset + clip.seconds(rng.uniform(0.15, 0.5)), onset + span, max(keys), beside)
        onset += span


def _runs(clip: Clip) -> None:
    """Single notes and double stops alone."""
    onset = int(clip.rng.uniform(-0.5, 0.5) * SAMPLE_RATE_HZ)
    start = int(np.clip(clip.rng.normal(64, 14), 24, 105))
    _line(clip, onset, clip.length, start, _loudness(clip.rng))


def _line(clip: Clip, onset: int, end: int, start: int, loudness: float) -> None:
    """A line of notes from `onset` to `end`, near the key `start` at first."""
    rng = clip.rng
    gap = clip.seconds(np.exp(rng.uniform(np.log(0.11), np.log(0.6))))
    key = start + int(rng.integers(-5, 8))
    width, legato = rng.choice([2, 4, 9]), rng.uniform(0.4, 1.6)
    beside = int(rng.choice([12, 12, 3, 4, 7, 15, 16, 19, 24])) if rng.random() < 0.3 else 0
    while onset < end:
        ends = onset + int(gap * legato)
        velocity = loudness * rng.uniform(0.6, 1.3)
        clip.strike(key, onset, ends, velocity)
        if beside:
            clip.strike(key + beside, onset + int(abs(rng.normal(0, 80))), ends, velocity)
        if rng.random() > 0.12:  # else the same key again
            key = int(np.clip(round(key + rng.normal(0, width)), LOWEST_MIDI, HIGHEST_MIDI))
        onset += gap * int(rng.choice([1, 1, 1, 2]))
