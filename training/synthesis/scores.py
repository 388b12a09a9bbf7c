"""Scores of short clips: which keys are struck when, how hard, for how long; and by what.

Everything is drawn from one generator, clip by clip, so a seed gives the same scores. Times
are samples of the clip at `SAMPLE_RATE_HZ` before any detuning of the whole. A batch is one
integer and one float array, padded with rows of gain 0, ready for the GPU.

What is drawn (see the functions): comping with human timing, pedal and re-struck chords,
melodies over held chords, runs of single notes, chords alone; level differences inside a
chord; and clips in which nobody plays the piano. Beside it, in part of the clips, bass,
drums and a lead, as what is not to be heard.
"""

from dataclasses import dataclass

import numpy as np

from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from training.synthesis.voicings import Keys, free, listed, moved

ROWS = 224  # notes of a clip, at most
BASS_KEYS = range(28, 68)
LEAD_KEYS = range(46, 82)
PIANO, BASS, DRUMS, LEAD = range(4)
UNDAMPED = 90  # from about here up a piano has no dampers (common practice)

_SOFTEST_DB = 15.0  # a note softer than that beside the loudest of its chord is not heard
TIERS = 3  # of loudness a voice has samples for


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


class _Clip:
    """Rows of one clip while it is written."""

    def __init__(self, rng: np.random.Generator, length: int) -> None:
        self.rng, self.length = rng, length
        self.rows: list[tuple[float, ...]] = []
        self.curve = rng.uniform(1.0, 2.4)  # velocity to amplitude
        self.tau = SAMPLE_RATE_HZ * float(np.exp(rng.uniform(np.log(0.025), np.log(0.25))))
        self.one_tier = int(rng.integers(TIERS)) if rng.random() < 0.2 else None
        mixing = rng.random()
        self.voice = None if mixing < 0.2 else rng.random()
        self.other = rng.random() if 0.2 <= mixing < 0.3 else self.voice
        self.undamped = UNDAMPED if rng.random() < 0.6 else HIGHEST_MIDI + 1
        self.last: dict[int, int] = {}

    def seconds(self, value: float) -> int:
        return round(value * SAMPLE_RATE_HZ)

    def strike(self, key: int, onset: int, release: int, velocity: float) -> None:
        """One piano key; a key that still sounds is damped as it is struck again."""
        if len(self.rows) >= ROWS or not LOWEST_MIDI <= key <= HIGHEST_MIDI:
            return
        before = self.last.get(key)
        if before is not None:
            row = self.rows[before]
            if onset - row[3] < self.seconds(0.09):
                return
            if row[4] > onset:
                self.rows[before] = (*row[:4], float(onset), *row[5:])
        if key >= self.undamped:
            release = onset + 2 * self.length
        velocity = float(np.clip(velocity, 0.06, 1.0))
        tier = self.one_tier
        if tier is None:
            tier = int(np.clip(velocity * TIERS + self.rng.normal(0, 0.35), 0, TIERS - 0.01))
        voice = self.rng.random() if self.voice is None else self.voice
        if self.other is not None and self.voice is not None and self.rng.random() < 0.4:
            voice = self.other
        gain = velocity**self.curve * 10 ** (self.rng.normal(0, 1.0) / 20)
        self.last[key] = len(self.rows)
        self.rows.append(
            (PIANO, key, tier, onset, max(release, onset + 400), voice, gain, self.tau, velocity)
        )

    def add(self, part: int, key: int, onset: int, release: int, voice: float, gain: float) -> None:
        """A note of what is not to be heard."""
        if len(self.rows) < ROWS:
            self.rows.append((part, key, 0, onset, release, voice, gain, 600.0, 0.0))


def draw(rng: np.random.Generator, batch: int, length: int) -> Scores:
    """Scores of `batch` clips of `length` samples."""
    whole = np.zeros((batch, ROWS, 6), np.int32)
    parts = np.zeros((batch, ROWS, 3), np.float32)
    detune, backing = np.zeros(batch, np.float32), np.zeros(batch, np.float32)
    for i in range(batch):
        rows, detune[i], backing[i] = _clip(rng, length)
        if rows:
            table = np.array(rows, np.float64)
            whole[i, : len(rows), :5] = table[:, :5]
            whole[i, : len(rows), 5] = table[:, 5] * (1 << 20)
            parts[i, : len(rows)] = table[:, 6:]
    return Scores(whole=whole, parts=parts, detune=detune, backing_db=backing)


def _clip(rng: np.random.Generator, length: int) -> tuple[list[tuple[float, ...]], float, float]:
    clip = _Clip(rng, length)
    kind = rng.random()
    if kind < 0.60:
        _comping(clip)
    elif kind < 0.71:
        _melody_over_chords(clip)
    elif kind < 0.80:
        _runs(clip)
    elif kind < 0.92:
        _chords_alone(clip)
    nobody = kind >= 0.92
    accompanied = rng.random()
    if accompanied < 0.33 or (nobody and accompanied < 0.6):
        _backing(clip)
    backing_db = float(rng.choice([-20, -14, -11, -8, -4, -2, 1]) + rng.uniform(-3, 3))
    return clip.rows, _detune(rng), backing_db


def _detune(rng: np.random.Generator) -> float:
    """Cents of the whole: mostly small, as after correction; sometimes anything up to 48."""
    if rng.random() < 0.7:
        return float(np.clip(rng.normal(0, 6), -48, 48))
    return float(rng.uniform(-48, 48))


def _chord(rng: np.random.Generator, before: Keys | None) -> Keys:
    if before is not None and rng.random() < 0.5:
        return moved(rng, before)
    return listed(rng) if rng.random() < 0.40 else free(rng)


def _velocities(clip: _Clip, loudness: float, count: int) -> np.ndarray:
    """Velocities in one chord: even, uneven, or with one voice far above the others."""
    rng = clip.rng
    values = loudness + rng.normal(0, rng.choice([0.02, 0.06, 0.12]), count)
    kind = rng.random()
    if kind < 0.15:
        values *= rng.uniform(0.45, 1.0, count)
    elif kind < 0.25:
        values *= 0.7
        values[-1] *= 1.4
    elif kind < 0.32:
        values[int(rng.integers(count))] *= rng.uniform(0.4, 0.6)
    floor = values.max() * 10 ** (-_SOFTEST_DB / 20 / clip.curve)
    return np.clip(values, max(floor, 0.08), 1.0)


def _strike_chord(clip: _Clip, keys: Keys, onset: int, release: int, loudness: float) -> None:
    rng = clip.rng
    spread = clip.seconds(rng.choice([0.002, 0.006, 0.012]))
    times = np.abs(rng.normal(0, spread, len(keys)))
    if rng.random() < 0.06:  # rolled
        times = np.arange(len(keys)) * clip.seconds(rng.uniform(0.015, 0.05))
    velocities = _velocities(clip, loudness, len(keys))
    for key, late, velocity in zip(keys, times, velocities, strict=True):
        ends = release + int(rng.normal(0, clip.seconds(0.02)))
        clip.strike(key, onset + int(late), ends, float(velocity))


def _loudness(rng: np.random.Generator) -> float:
    return float(np.clip(rng.normal(0.55, 0.18), 0.12, 1.0))


def _comping(clip: _Clip) -> None:
    """Chords in a rhythm, dry, long or with pedal; half of them repeat or move."""
    rng = clip.rng
    beat = clip.seconds(60 / np.exp(rng.uniform(np.log(50), np.log(260))))
    steps = [(0.5, 1, 1.5, 2), (1, 2), (0.5, 1, 1.5, 2, 2.5, 3), (1 / 3, 2 / 3, 1, 4 / 3, 2)]
    pattern = steps[int(rng.integers(len(steps)))]
    loudness, swing = _loudness(rng), clip.seconds(0.008)
    onset, keys = int(rng.uniform(-0.8, 0.6) * SAMPLE_RATE_HZ), None
    dry, pedal = rng.uniform(0.2, 1.05), rng.random() < 0.3
    while onset < clip.length:
        gap = max(int(rng.choice(pattern) * beat), clip.seconds(0.11))
        keys = _chord(rng, keys)
        ends = onset + int(gap * dry) + (int(rng.uniform(0, 2.5) * gap) if pedal else 0)
        if rng.random() < 0.06:
            ends += clip.length  # forgotten under the pedal
        late = int(rng.normal(0, swing))
        _strike_chord(clip, keys, onset + late, ends, loudness * rng.uniform(0.7, 1.3))
        onset += gap
        if rng.random() < 0.06:
            onset += int(rng.uniform(0.5, 1.5) * SAMPLE_RATE_HZ)


def _chords_alone(clip: _Clip) -> None:
    """One chord, and after it has rung a while perhaps another, as someone tries voicings."""
    rng = clip.rng
    onset, keys = int(rng.uniform(-0.4, 1.2) * SAMPLE_RATE_HZ), None
    while onset < clip.length:
        keys = _chord(rng, keys)
        gap = clip.seconds(rng.uniform(0.5, 2.5))
        ends = onset + int(gap * rng.choice([0.5, 0.9, 1.0, 1.0, 1.5]))
        _strike_chord(clip, keys, onset, ends, _loudness(rng))
        onset += gap


def _melody_over_chords(clip: _Clip) -> None:
    """Held chords, and over them (or under, or among them) single notes and octaves."""
    rng = clip.rng
    onset, keys = int(rng.uniform(-0.5, 0.5) * SAMPLE_RATE_HZ), None
    while onset < clip.length:
        keys = _chord(rng, keys)
        span = clip.seconds(rng.uniform(0.8, 3.0))
        loudness = _loudness(rng)
        _strike_chord(clip, keys, onset, onset + span, loudness)
        _line(clip, onset + clip.seconds(rng.uniform(0.15, 0.5)), onset + span, max(keys), loudness)
        onset += span


def _runs(clip: _Clip) -> None:
    """Single notes and double stops alone."""
    onset = int(clip.rng.uniform(-0.5, 0.5) * SAMPLE_RATE_HZ)
    start = int(np.clip(clip.rng.normal(64, 14), 24, 105))
    _line(clip, onset, clip.length, start, _loudness(clip.rng))


def _line(clip: _Clip, onset: int, end: int, start: int, loudness: float) -> None:
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


def _backing(clip: _Clip) -> None:
    """Bass, drums and sometimes a lead, each there or not."""
    rng = clip.rng
    beat = clip.seconds(60 / rng.uniform(55, 240))
    start = int(rng.uniform(-0.8, 0.3) * SAMPLE_RATE_HZ)
    kind = rng.random()
    if kind < 0.8:
        _bass(clip, start, beat)
    if kind > 0.15:
        _drums(clip, start, beat)
    if rng.random() < 0.25:
        _lead(clip, start, beat)


def _bass(clip: _Clip, onset: int, beat: int) -> None:
    rng, voice = clip.rng, clip.rng.random()
    key = int(rng.integers(30, 52))
    step, legato = beat * int(rng.choice([1, 1, 2])), rng.uniform(0.5, 1.1)
    while onset < clip.length:
        key += int(rng.choice([-7, -5, -3, -2, -1, 1, 2, 3, 5, 7, 12, -12]))
        key = int(np.clip(key, BASS_KEYS[0], BASS_KEYS[-1] - 8))
        late = onset + int(rng.normal(0, 120))
        clip.add(BASS, key, late, late + int(step * legato), voice, 10 ** (rng.normal(0, 2) / 20))
        onset += step if rng.random() < 0.85 else step // 2


def _drums(clip: _Clip, onset: int, beat: int) -> None:
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


def _lead(clip: _Clip, onset: int, beat: int) -> None:
    rng, voice, key = clip.rng, clip.rng.random(), int(clip.rng.integers(52, 76))
    while onset < clip.length:
        key = int(np.clip(key + round(rng.normal(0, 3)), LEAD_KEYS[0], LEAD_KEYS[-1]))
        gap = int(beat * rng.choice([0.5, 1, 1, 2, 3]))
        clip.add(LEAD, key, onset, onset + int(gap * rng.uniform(0.6, 1.0)), voice, 0.8)
        onset += gap
