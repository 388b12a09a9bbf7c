import numpy as np
import pytest

from stackline.listen.attacks.levels import with_levels
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning
from tests.support.sound.sounds import tone

RATE = 16_000
AT_440 = Tuning(offset_cents=0.0, confidence=1.0)


def take(*played: tuple[float, int, float]) -> tuple[tuple[Note, ...], Audio]:
    """Notes (onset, MIDI, gain in dB) and their sound."""
    sound = np.zeros(6 * RATE)
    notes = []
    for onset_s, midi, gain_db in played:
        wave = tone(midi, 1.0, RATE) * 10 ** (gain_db / 20)
        start = min(round(onset_s * RATE), len(sound))
        sound[start : start + len(wave)] += wave[: len(sound) - start]
        notes.append(
            Note(onset_s=onset_s, offset_s=onset_s + 1, midi=midi, velocity=64, confidence=1.0)
        )
    samples = sound.astype(np.float32)
    return tuple(notes), Audio(name="a", samples=samples, sample_rate_hz=RATE, sha256="")


def test_louder_is_faster() -> None:
    """Single notes 6 dB apart: each step of 0.3 dB is one of velocity."""
    notes, audio = take((0.0, 60, -18), (1.2, 60, -12), (2.4, 60, -6), (3.6, 60, 0))
    velocities = [note.velocity for note in with_levels(notes, audio, AT_440)]
    assert np.diff(velocities) == pytest.approx([20, 20, 20], abs=2)


def test_the_recording_s_gain_does_not_matter() -> None:
    """The same take 20 dB softer has the same velocities."""
    notes, audio = take((0.0, 60, -10), (1.2, 64, 0), (2.4, 67, -5))
    softer = Audio(name="a", samples=audio.samples[:] * 0.1, sample_rate_hz=RATE, sha256="")
    assert with_levels(notes, audio, AT_440) == with_levels(notes, softer, AT_440)


def test_a_note_struck_again_counts_only_what_is_new() -> None:
    """A soft strike into a loud ring of the same key is soft, not loud."""
    notes, audio = take((0.0, 60, 0), (0.5, 60, -12), (2.0, 60, 0))
    first, again, last = (note.velocity for note in with_levels(notes, audio, AT_440))
    assert again < first - 15
    assert last == pytest.approx(first, abs=2)


def test_notes_at_both_ends_and_beyond() -> None:
    """Onsets at sample 0, in the last samples and past the end have some velocity."""
    notes, audio = take((0.0, 60, 0), (5.99, 60, 0), (6.5, 108, 0))
    velocities = [note.velocity for note in with_levels(notes, audio, AT_440)]
    assert all(1 <= velocity <= 127 for velocity in velocities)


def test_no_notes() -> None:
    """Nothing in, nothing out."""
    assert with_levels((), take()[1], AT_440) == ()
