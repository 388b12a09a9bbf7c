"""Two hands as pianists play: figures under the pedal, melodies above what is softer.

Three to sixteen notes a second, gaps from 55 ms; keys struck softly under others that ring; trills
and repeats on ringing keys. Real recordings are full of them, and comping alone teaches none.
"""

from dataclasses import dataclass

import numpy as np

from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from training.synthesis.clip_score import Clip, chord, softer, strike_chord
from training.synthesis.voicings import Keys, free


@dataclass(frozen=True, kw_only=True)
class Phrase:
    """One chord's time, from `onset` to `ends` in samples, and how loud its hands are."""

    keys: Keys
    onset: int
    ends: int
    soft: float
    loud: float
    pedal: bool

    def release(self, finger: int) -> int:
        """When a note ends whose finger leaves at `finger`: with the pedal, if it is down."""
        return self.ends if self.pedal else finger


def texture(clip: Clip) -> None:
    """Phrases in one figure, or each in its own; the pedal changes at their ends or a bit later."""
    rng = clip.rng
    onset, keys = int(rng.uniform(-0.8, 0.3) * SAMPLE_RATE_HZ), None
    loud = float(np.clip(rng.normal(0.62, 0.15), 0.2, 1.0))
    below_db = rng.uniform(4, 20) if rng.random() < 0.6 else rng.uniform(-3, 4)
    soft = softer(clip, loud, below_db)
    one_figure = rng.random() < 0.6
    figure = rng.integers(len(_FIGURES))
    pedal, lag = rng.random() < 0.7, float(rng.choice([0.03, 0.08, 0.2]))
    while onset < clip.length:
        keys = chord(rng, keys)
        span = clip.seconds(np.exp(rng.uniform(np.log(0.7), np.log(2.8))))
        if not one_figure:
            figure = rng.integers(len(_FIGURES))
        ends = onset + span + clip.seconds(abs(rng.normal(0, lag)))
        phrase = Phrase(keys=keys, onset=onset, ends=ends, soft=soft, loud=loud, pedal=pedal)
        _FIGURES[figure](clip, phrase)
        onset += span


def _arpeggio(clip: Clip, phrase: Phrase) -> None:
    """Up and down over some octaves, the highest key loud."""
    rng = clip.rng
    reach = sorted({k + o for k in phrase.keys for o in rng.choice([-12, 0, 0, 0, 12, 24], 3)})
    gap, at, place = _gap(clip), phrase.onset, 0
    order = reach if rng.random() < 0.7 else reach[::-1]
    while at < phrase.ends:
        key = int(order[place % len(order)])
        level = (phrase.loud if key == max(order) else phrase.soft) * rng.uniform(0.85, 1.15)
        clip.strike(key, at + int(rng.normal(0, 60)), phrase.release(at + 2 * gap), level)
        place += 1
        if place % len(order) == 0 and rng.random() < 0.6:
            order = order[::-1]
        at += gap


def _run_over_a_chord(clip: Clip, phrase: Phrase) -> None:
    strike_chord(clip, phrase.keys, phrase.onset, phrase.ends, phrase.loud)
    start = phrase.onset + clip.seconds(0.1)
    _line(clip, phrase, start, max(phrase.keys), phrase.soft, _gap(clip))


def _melody_over_broken_chords(clip: Clip, phrase: Phrase) -> None:
    """The left hand's figure, soft, and a slower melody above it."""
    rng, keys = clip.rng, phrase.keys
    order = (list(keys), [keys[0], keys[-1], keys[len(keys) // 2], keys[-1]],
             [keys[0] - 12, *keys[:3], *keys[:3]])[int(rng.integers(3))]  # fmt: skip
    gap, at, place = _gap(clip, 0.3), phrase.onset, 0
    while at < phrase.ends:
        accent = 1.2 if place % len(order) == 0 else 1.0
        level = phrase.soft * rng.uniform(0.85, 1.2) * accent
        clip.strike(order[place % len(order)], at, phrase.release(at + int(1.1 * gap)), level)
        place += 1
        at += gap
    top = max(keys) + int(rng.integers(3, 15))
    _line(clip, phrase, phrase.onset, top, phrase.loud, _gap(clip, 0.7))


def _voices(clip: Clip, phrase: Phrase) -> None:
    """Two or three lines at once, without the pedal."""
    rng = clip.rng
    key = int(np.clip(rng.normal(55, 8), 30, 80))
    dry = Phrase(**{**vars(phrase), "pedal": False})
    for _ in range(int(rng.integers(2, 4))):
        level = softer(clip, phrase.loud, rng.uniform(0, 12))
        _line(clip, dry, phrase.onset, key, level, _gap(clip))
        key += int(rng.integers(5, 14))


def _repeats(clip: Clip, phrase: Phrase) -> None:
    """Trills and repeated keys while a chord rings."""
    rng = clip.rng
    strike_chord(clip, phrase.keys, phrase.onset, phrase.ends, phrase.loud)
    key = int(rng.choice(phrase.keys)) + int(rng.choice([0, 0, 12, -12]))
    pair = (key, key + int(rng.choice([0, 1, 2, 2, 3, 12])))
    gap, place = clip.seconds(rng.uniform(0.07, 0.2)), 0
    at = phrase.onset + clip.seconds(rng.uniform(0.15, 0.4))
    while at < phrase.ends:
        level = phrase.soft * rng.uniform(0.85, 1.2)
        clip.strike(pair[place % 2], at, at + int(gap * rng.uniform(0.6, 1.0)), level)
        place += 1
        at += gap


def _soft_chords_under_a_loud_one(clip: Clip, phrase: Phrase) -> None:
    rng = clip.rng
    loud = phrase.loud * 1.2
    strike_chord(clip, phrase.keys, phrase.onset, phrase.ends, min(1.0, loud))
    at = phrase.onset + clip.seconds(rng.uniform(0.2, 0.8))
    while at < phrase.ends:
        keys = free(rng) if rng.random() < 0.5 else _some_of(rng, phrase.keys)
        level = softer(clip, loud, rng.uniform(6, 24))
        strike_chord(clip, keys, at, phrase.release(at + clip.seconds(0.3)), level)
        at += clip.seconds(rng.uniform(0.2, 0.8))


def _line(clip: Clip, phrase: Phrase, at: int, key: int, level: float, gap: int) -> None:
    """Single notes from `key` on, here and there with a second one below."""
    rng = clip.rng
    width, drift = float(rng.choice([1.5, 3, 6])), float(rng.choice([-1, 0, 0, 1]))
    while at < phrase.ends:
        ends = phrase.release(at + int(gap * rng.uniform(0.7, 1.3)))
        clip.strike(key, at + int(rng.normal(0, 50)), ends, level * rng.uniform(0.8, 1.2))
        if rng.random() < 0.15:
            below = key - int(rng.choice([3, 4, 5, 7, 8, 9, 12]))
            beside = at + int(abs(rng.normal(0, 60)))
            clip.strike(below, beside, phrase.release(at + gap), level * rng.uniform(0.6, 1.1))
        key = int(np.clip(round(key + drift + rng.normal(0, width)), LOWEST_MIDI, HIGHEST_MIDI))
        at += gap * int(rng.choice([1, 1, 1, 1, 2]))


def _some_of(rng: np.random.Generator, keys: Keys) -> Keys:
    count = int(rng.integers(1, min(4, len(keys)) + 1))
    return tuple(sorted(int(key) for key in rng.choice(keys, count, replace=False)))


def _gap(clip: Clip, slowest_s: float = 0.22) -> int:
    return clip.seconds(float(np.exp(clip.rng.uniform(np.log(0.055), np.log(slowest_s)))))


_FIGURES = (
    _arpeggio, _run_over_a_chord, _melody_over_broken_chords, _voices, _repeats,
    _soft_chords_under_a_loud_one,
)  # fmt: skip
