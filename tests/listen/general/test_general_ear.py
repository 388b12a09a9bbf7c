"""The general ear on chords of exact harmonics, and its windows on their own."""

import hashlib
from fractions import Fraction

import mir_eval
import numpy as np
import pytest

from stackline.listen.ear import silent
from stackline.listen.general.general_ear import FRAME, RATE_HZ, WEIGHTS, GeneralEar
from stackline.listen.recording.tuning import estimate_tuning
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import midi_to_hz
from tests.support.sound.sounds import chords

AT_440 = Tuning(offset_cents=0.0, confidence=1.0)
PLAYED = [
    (0.0, (53, 57, 60, 64)),
    (0.9, (53, 58, 62, 65)),
    (1.7, (52, 58, 62, 67)),
    (2.3, (52, 57, 62, 67)),
    (4.0, (72,)),
]


def audio(sound: np.ndarray) -> Audio:
    """Sound as a record, at the ear's rate."""
    samples = sound.astype(np.float32)
    return Audio(name="a", samples=samples, sample_rate_hz=RATE_HZ, sha256="")


def notes_f1(heard: tuple[Note, ...], played: list[tuple[float, tuple[int, ...]]]) -> float:
    """mir_eval's note F1: onsets within 50 ms, pitch within a quarter tone."""
    true = [(at, midi) for at, midis in played for midi in midis]
    return mir_eval.transcription.precision_recall_f1_overlap(
        np.array([(at, at + 0.5) for at, _ in true]),
        np.array([midi_to_hz(midi) for _, midi in true]),
        np.array([(one.onset_s, one.onset_s + 0.5) for one in heard]),
        np.array([midi_to_hz(one.midi) for one in heard]),
        offset_ratio=None,
    )[2]


def test_chords_are_heard() -> None:
    """Nearly all notes, the first at sample 0, common tones struck again, few others."""
    sound = chords(PLAYED, duration_s=5.0, rate_hz=RATE_HZ)
    heard = GeneralEar().hear(audio(sound), AT_440, silent)
    assert notes_f1(heard, PLAYED) > 0.9


@pytest.mark.parametrize("cents", [-60.0, -35.0, 35.0, 58.0])
def test_a_mistuned_instrument_is_heard_as_written(cents: float) -> None:
    """A = 425 to 455 Hz: the same keys at the same times once the tuning is known."""
    played = [(at, [midi + cents / 100 for midi in midis]) for at, midis in PLAYED]
    sound = chords(played, duration_s=5.0, rate_hz=RATE_HZ)
    tuning = Tuning(offset_cents=cents, confidence=1.0)
    assert notes_f1(GeneralEar().hear(audio(sound), tuning, silent), PLAYED) > 0.9


def test_times_do_not_drift() -> None:
    """After 80 s onsets are still within 15 ms, retuned (other frame rate) or not."""
    played = [(at, (60, 64, 67)) for at in (1.0, 40.0, 78.0)]
    for cents in (0.0, 40.0):
        tuned = [(at, [midi + cents / 100 for midi in midis]) for at, midis in played]
        sound = chords(tuned, duration_s=80.0, rate_hz=RATE_HZ)
        tuning = Tuning(offset_cents=cents, confidence=1.0)
        heard = GeneralEar().hear(audio(sound), tuning, silent)
        for at, _ in played:
            near = [one.onset_s for one in heard if abs(one.onset_s - at) < 0.2]
            assert np.median(near) == pytest.approx(at, abs=0.015)


@pytest.mark.parametrize("length", [1, 255, 256, 1000, FRAME * 141, FRAME * 141 + 1, RATE_HZ * 5])
def test_every_sample_has_its_frame(length: int) -> None:
    """Chunks follow each other from frame 0 and cover the recording to its last sample."""
    chunks = list(GeneralEar().activations(audio(np.zeros(length)), AT_440, silent))
    expected = 0
    for chunk in chunks:
        assert chunk.first_frame == expected
        assert chunk.frame_rate_hz == Fraction(RATE_HZ, FRAME)
        expected += len(chunk.onset)
    assert expected == -(-length // FRAME)


@pytest.mark.parametrize("kind", ["silence", "hiss", "hum"])
def test_where_nobody_plays_nothing_is_heard(kind: str) -> None:
    """Silence, white noise and mains hum with its harmonics hold no struck notes."""
    rng = np.random.default_rng(5)
    times = np.arange(8 * RATE_HZ) / RATE_HZ
    sound = {
        "silence": np.zeros(len(times)),
        "hiss": 0.02 * rng.standard_normal(len(times)),
        "hum": sum(0.01 / k * np.sin(2 * np.pi * 50 * k * times) for k in (1, 2, 3, 5)),
    }[kind]
    sound = sound + 1e-5 * rng.standard_normal(len(times)) * (kind == "hum")
    heard = GeneralEar().hear(audio(sound), estimate_tuning(audio(sound)), silent)
    assert len(heard) <= (kind == "hum")  # a hum that begins with the file may be a note


def test_the_network_is_the_published_one() -> None:
    """The file of the wheel basic-pitch 0.4.0 on PyPI, byte for byte, its licence beside it.

    The digest was taken of ``saved_models/icassp_2022/nmp.onnx`` in that wheel.
    """
    digest = hashlib.sha256(WEIGHTS.read_bytes()).hexdigest()
    assert digest == "2c3c1d144bfa61ad236e92e169c13535c880469a12a047d4e73451f2c059a0ec"
    assert "Apache License" in (WEIGHTS.parent / "LICENSE").read_text(encoding="utf-8")
    assert "Copyright 2022 Spotify AB" in (WEIGHTS.parent / "NOTICE").read_text(encoding="utf-8")
