"""The score of one clip while it is written: keys struck, held and struck again, chord by chord.

Times are samples. A key that still sounds is damped as it is struck again, or rings on where it
is held; what is not the piano stands in rows of its own.
"""

import numpy as np

from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from training.synthesis.voicings import Keys, free, listed, moved

ROWS = 224  # notes of a clip, at most
PIANO, BASS, DRUMS, LEAD = range(4)
TIERS = 3  # of loudness a voice has samples for
UNDAMPED = 90  # from about here up a piano has no dampers (common practice)

_SOFTEST_DB = 15.0  # a note softer than that beside the loudest of its chord is not heard
_APART_S = 0.065  # strikes of one key are no closer
_LISTED = 0.40  # share of new chords that are common shapes; the others come from no list


class Clip:
    """Rows of one clip while it is written."""

    def __init__(self, rng: np.random.Generator, length: int) -> None:
        self.rng, self.length = rng, length
        self.rows: list[tuple[float, ...]] = []
        self.curve = rng.uniform(1.3, 3.0)  # velocity to amplitude
        self.tau = SAMPLE_RATE_HZ * float(np.exp(rng.uniform(np.log(0.025), np.log(0.25))))
        self.one_tier = int(rng.integers(TIERS)) if rng.random() < 0.2 else None
        mixing = rng.random()
        self.voice = None if mixing < 0.1 else rng.random()
        self.other = rng.random() if 0.1 <= mixing < 0.2 else self.voice
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
            if onset - row[3] < self.seconds(_APART_S):
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

    def hold(self, key: int, onset: int, release: int) -> bool:
        """Let a key that still sounds ring on, unstruck; False if it does not sound."""
        before = self.last.get(key)
        if before is None or self.rows[before][4] < onset - self.seconds(0.02):
            return False
        row = self.rows[before]
        self.rows[before] = (*row[:4], float(max(row[4], release)), *row[5:])
        return True

    def add(self, part: int, key: int, onset: int, release: int, voice: float, gain: float) -> None:
        """A note of what is not to be heard."""
        if len(self.rows) < ROWS:
            self.rows.append((part, key, 0, onset, release, voice, gain, 600.0, 0.0))


def chord(rng: np.random.Generator, before: Keys | None) -> Keys:
    """The next chord: half of all repeat or move the one before."""
    if before is not None and rng.random() < 0.5:
        return moved(rng, before)
    return listed(rng) if rng.random() < _LISTED else free(rng)


def _velocities(clip: Clip, loudness: float, count: int) -> np.ndarray:
    """Velocities in one chord: even, uneven, or with one voice far above the others."""
    rng = clip.rng
    values = loudness + rng.normal(0, rng.choice([0.02, 0.06, 0.12]) * 1.7 / clip.curve, count)
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


def strike_chord(clip: Clip, keys: Keys, onset: int, release: int, loudness: float) -> None:
    """A chord as fingers strike it: some milliseconds apart, sometimes rolled."""
    rng = clip.rng
    spread = clip.seconds(rng.choice([0.002, 0.006, 0.012]))
    times = np.abs(rng.normal(0, spread, len(keys)))
    if rng.random() < 0.06:  # rolled
        times = np.arange(len(keys)) * clip.seconds(rng.uniform(0.015, 0.05))
    velocities = _velocities(clip, loudness, len(keys))
    for key, late, velocity in zip(keys, times, velocities, strict=True):
        ends = release + int(rng.normal(0, clip.seconds(0.02)))
        clip.strike(key, onset + int(late), ends, float(velocity))


def softer(clip: Clip, velocity: float, by_db: float) -> float:
    """A velocity whose amplitude lies so many dB lower."""
    return velocity * 10 ** (-by_db / 20 / clip.curve)
