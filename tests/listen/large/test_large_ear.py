"""The large ear around a model that is made up here; the real one where it is installed."""

import importlib.util
from types import SimpleNamespace

import numpy as np
import pytest

from stackline.ears import make_ear
from stackline.listen.ear import silent
from stackline.listen.large import large_ear
from stackline.listen.large.large_ear import LargeEar, none_twice, notes_of
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning

RATE = LargeEar.sample_rate_hz
IN_TUNE = Tuning(offset_cents=0.0, confidence=1.0)


def test_without_its_package_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """One sentence, with what to type and what it costs."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(Complaint, match=r"pip install 'stackline\[large\]' \(1 GB and more"):
        make_ear("large")


def _ear_of_impulses(monkeypatch: pytest.MonkeyPatch) -> LargeEar:
    """An ear whose model hears middle C, and a pedal, wherever a sample is 1."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: object())

    def asked(self: LargeEar, sound: np.ndarray) -> list[SimpleNamespace]:
        return [
            SimpleNamespace(start=place / RATE, end=place / RATE + 0.5, pitch=pitch, velocity=64)
            for place in np.flatnonzero(sound > 0.9)
            for pitch in (60, -64)
        ]

    monkeypatch.setattr(LargeEar, "_asked", asked)
    return LargeEar()


def test_no_strike_is_lost_or_doubled_between_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    """Strikes at and around the borders of pieces (120 s) come once each, at their times."""
    ear = _ear_of_impulses(monkeypatch)
    times = [0.5, 111.9, 112.1, 119.99, 120.0, 120.01, 127.9, 128.1, 240.0, 249.0]
    samples = np.zeros(250 * RATE, np.float32)
    samples[[round(time * RATE) for time in times]] = 1
    audio = Audio(name="", samples=samples, sample_rate_hz=RATE, sha256="")
    heard = ear.hear(audio, IN_TUNE, silent)
    assert [note.onset_s for note in heard] == pytest.approx(times, abs=1e-4)
    assert {note.midi for note in heard} == {60}


def test_times_are_of_the_recording_whatever_its_tuning() -> None:
    """A model that heard 10 s of a recording read 1 % faster heard 9.9 s of it."""
    heard = [SimpleNamespace(start=10.0, end=11.0, pitch=60, velocity=0)]
    (note,) = notes_of(heard, 5.0, 1 / 1.01)
    assert note.onset_s == pytest.approx(5 + 10 / 1.01, abs=1e-4)
    assert note.velocity == 1


def test_a_key_ends_where_it_is_struck_again() -> None:
    """No key sounds twice at once."""
    once = Note(onset_s=1.0, offset_s=3.0, midi=60, velocity=64, confidence=0.5)
    again = Note(onset_s=2.0, offset_s=2.5, midi=60, velocity=64, confidence=0.5)
    other = Note(onset_s=1.0, offset_s=3.0, midi=64, velocity=64, confidence=0.5)
    assert [note.offset_s for note in none_twice([again, other, once])] == [2.0, 3.0, 2.5]


@pytest.mark.skipif(
    not all(importlib.util.find_spec(name) for name in (large_ear.PACKAGE, "torch")),
    reason="the package of the large ear is not installed",
)
def test_the_real_model_hears_silence_as_nothing() -> None:
    """The package's model is set up from what it ships, and answers."""
    audio = Audio(name="", samples=np.zeros(RATE, np.float32), sample_rate_hz=RATE, sha256="")
    assert LargeEar().hear(audio, IN_TUNE, silent) == ()
