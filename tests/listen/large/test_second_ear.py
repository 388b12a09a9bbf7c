"""Two ears: the first one's notes, doubted where the second hears other keys."""

import numpy as np
import soxr

from stackline.listen.large.second_ear import DOUBTED, Resampled, SecondEar, doubted
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning


def _struck(onset_s: float, *keys: int, confidence: float = 0.95) -> tuple[Note, ...]:
    return tuple(
        Note(onset_s=onset_s, offset_s=onset_s + 1, midi=key, velocity=64, confidence=confidence)
        for key in keys
    )


def test_where_both_hear_the_same_nothing_changes() -> None:
    """The second may be 50 ms late."""
    mine = _struck(1.0, 60, 64, 67)
    assert doubted(mine, _struck(1.045, 60, 64, 67)) == mine


def test_a_key_that_the_second_lacks_is_doubted() -> None:
    """And the others of its attack are not."""
    found = doubted(_struck(1.0, 60, 64, 72), _struck(1.0, 60, 64))
    assert [note.confidence for note in found] == [0.95, 0.95, DOUBTED]


def test_a_key_that_only_the_second_hears_makes_the_attack_unsure() -> None:
    """The first ear's notes stay; its weakest is doubted."""
    mine = (*_struck(1.0, 60, 64), *_struck(1.0, 67, confidence=0.91))
    found = doubted(mine, _struck(1.0, 60, 64, 67, 79))
    assert [note.midi for note in found] == [60, 64, 67]
    assert [note.confidence for note in found] == [0.95, 0.95, DOUBTED]


def test_doubt_raises_no_confidence() -> None:
    """What was less sure stays so."""
    (note,) = doubted(_struck(1.0, 60, confidence=0.2), ())
    assert note.confidence == 0.2


def test_slices_at_another_rate_are_those_of_the_whole() -> None:
    """Against soxr on the whole recording (yardstick), at 44.1 and 22.05 kHz from 16."""
    rng = np.random.default_rng(5)
    sound = np.convolve(rng.normal(0, 0.1, 48_000), np.hanning(9), "same").astype(np.float32)
    for rate in (22_050, 44_100):
        whole = soxr.resample(sound, 16_000, rate)
        made = Resampled(sound, 16_000, rate)
        assert len(made) == len(whole)
        for start, stop in ((0, 500), (12_345, 23_456), (len(whole) - 700, len(whole))):
            part = made[start:stop]
            assert len(part) == stop - start
            assert np.abs(part - whole[start:stop]).max() < 1e-3


class _Ear:
    """Hears one key, at the rate that it wants."""

    hears_velocity = True

    def __init__(self, rate: int, key: int) -> None:
        self.name, self.sample_rate_hz, self._key = f"of {rate}", rate, key

    def hear(self, audio: Audio, tuning: Tuning, progress: object) -> tuple[Note, ...]:
        assert audio.sample_rate_hz == self.sample_rate_hz
        assert abs(len(audio.samples) / self.sample_rate_hz - 2.0) < 1e-3
        return _struck(1.0, self._key)


def test_each_ear_hears_at_its_own_rate() -> None:
    """The name says who doubted whom."""
    both = SecondEar(_Ear(16_000, 60), _Ear(44_100, 61))
    audio = Audio(name="", samples=np.zeros(32_000), sample_rate_hz=16_000, sha256="")
    (note,) = both.hear(audio, Tuning(offset_cents=0.0, confidence=0.0), lambda stage, part: None)
    assert (note.midi, note.confidence) == (60, DOUBTED)
    assert both.name == "of 16000, doubted by of 44100"
