"""A second ear beside the first: what they disagree on is marked, nothing is changed.

The first ear's notes stay as they are. Where the second hears other keys struck at an attack,
the attack is no longer sure; where it hears the same, the first one's confidence stands.
"""

import math
from dataclasses import replace

import numpy as np
import soxr

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.ear import Ear, Progress
from stackline.shared.notes import Attack, Note
from stackline.shared.sound import Audio, Samples, Tuning

NEAR_S = 0.05  # strikes of the two ears that are one, at most so far apart
DOUBTED = 0.5  # even odds: the confidence, at most, of what the ears disagree on

_SPARE_S = 0.1  # heard with a slice, so that its edges are right


class SecondEar:
    """An ear of two. first: gives the notes. second: doubts them."""

    def __init__(self, first: Ear, second: Ear) -> None:
        self.first, self.second = first, second
        self.sample_rate_hz, self.hears_velocity = first.sample_rate_hz, first.hears_velocity

    @property
    def name(self) -> str:
        return f"{self.first.name}, doubted by {self.second.name}"

    def hear(self, audio: Audio, tuning: Tuning, progress: Progress) -> tuple[Note, ...]:
        """See `stackline.listen.ear.Ear`."""
        notes = self.first.hear(audio, tuning, progress)
        rate = self.second.sample_rate_hz
        samples = Resampled(audio.samples, audio.sample_rate_hz, rate)
        again = replace(audio, samples=samples, sample_rate_hz=rate)
        return doubted(notes, self.second.hear(again, tuning, progress))


class Resampled:
    """Samples at another rate, made slice by slice as they are asked for."""

    def __init__(self, samples: Samples, from_hz: int, to_hz: int) -> None:
        self._samples, self._from, self._to = samples, from_hz, to_hz

    def __len__(self) -> int:
        return len(self._samples) * self._to // self._from

    def __getitem__(self, part: slice, /) -> np.ndarray:
        start, stop, _ = part.indices(len(self))
        common = math.gcd(self._from, self._to)
        block_from, block_to = self._from // common, self._to // common  # as long in both
        spare = round(_SPARE_S * common)
        first = max(start // block_to - spare, 0)
        last = -(-stop // block_to) + spare
        sound = self._samples[first * block_from : last * block_from]
        made: np.ndarray = soxr.resample(np.asarray(sound, np.float32), self._from, self._to)
        offset = first * block_to
        return made[start - offset : stop - offset]


def doubted(notes: tuple[Note, ...], others: tuple[Note, ...]) -> tuple[Note, ...]:
    """The first ear's notes, less sure in attacks where the other ear heard other keys."""
    times = np.array([note.onset_s for note in others])
    keys = np.array([note.midi for note in others])
    found: list[Note] = []
    for attack in find_attacks(notes):
        near = (times >= attack.onset_s - NEAR_S) & (times <= _last(attack) + NEAR_S)
        found += _with_doubt(attack, set(keys[near].tolist()))
    return tuple(sorted(found, key=lambda note: (note.onset_s, note.midi)))


def _last(attack: Attack) -> float:
    return max(note.onset_s for note in attack.struck)


def _with_doubt(attack: Attack, others: set[int]) -> list[Note]:
    """Notes that the other ear lacks are doubted; the weakest, where it has more."""
    struck = list(attack.struck)
    lacking = [note.midi not in others for note in struck]
    if others - {note.midi for note in struck}:
        lacking[min(range(len(struck)), key=lambda place: struck[place].confidence)] = True
    return [
        replace(note, confidence=min(note.confidence, DOUBTED)) if doubt else note
        for note, doubt in zip(struck, lacking, strict=True)
    ]
