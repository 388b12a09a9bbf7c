"""Rendering puts the right pitch at the right time, and conditions do what they are called."""

import numpy as np
import pytest
from made_bank import RATE_HZ, write_bank

from bench import conditions
from bench.company import bass_and_drums, has_speech, speech
from bench.render import render_notes
from bench.takes import LISTED, make_take
from bench.truth import TrueNote
from training.bank import load_bank


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A bank of sines."""
    return write_bank(tmp_path_factory.mktemp("bank"))


@pytest.fixture(scope="module")
def piano(folder):
    """The test piano."""
    return load_bank(folder, split="dev")["test_piano"]


def _note(midi: int, onset_s: float = 0.5, length_s: float = 1.0, velocity: int = 80) -> TrueNote:
    end = onset_s + length_s
    return TrueNote(onset_s=onset_s, key_up_s=end, offset_s=end, midi=midi, velocity=velocity)


def _render(piano, *notes: TrueNote, detune_cents: float = 0.0) -> np.ndarray:
    return render_notes(notes, piano, rate_hz=RATE_HZ, duration_s=2.5, detune_cents=detune_cents)


def _frequency(sound: np.ndarray) -> float:
    """The strongest frequency, by the peak of a long windowed spectrum."""
    power = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 2**18))
    return float(np.argmax(power) * RATE_HZ / 2**18)


@pytest.mark.parametrize(("midi", "hz"), [(69, 440.0), (60, 261.6256), (73, 554.3653)])
def test_a_note_sounds_at_its_pitch(piano, midi, hz):
    """Pitch is 440 * 2 ** ((n - 69) / 12) (MIDI Tuning Standard), also between the bank's zones."""
    assert _frequency(_render(piano, _note(midi))[8000:24000]) == pytest.approx(hz, rel=5e-4)


def test_detuning_is_in_cents(piano):
    """100 cents sharp is the next semitone: 466.16 Hz above A4 (MIDI Tuning Standard)."""
    sound = _render(piano, _note(69), detune_cents=100.0)
    assert _frequency(sound[8000:24000]) == pytest.approx(466.1638, rel=5e-4)


def test_a_note_starts_at_its_onset(piano):
    """Silence before the strike, sound within five milliseconds of it."""
    sound = _render(piano, _note(69, onset_s=0.5))
    assert np.all(sound[: round(0.5 * RATE_HZ)] == 0)
    assert np.max(np.abs(sound[round(0.5 * RATE_HZ) : round(0.505 * RATE_HZ)])) > 0.05


def test_a_damped_note_dies_within_half_a_second_and_a_held_one_does_not(piano):
    """Releases are short; the highest strings of a piano have no dampers."""
    late = slice(round(1.4 * RATE_HZ), round(1.6 * RATE_HZ))
    held = conditions.rms(_render(piano, _note(60, length_s=1.5))[late])
    damped = conditions.rms(_render(piano, _note(60, length_s=0.3))[late])
    undamped = conditions.rms(_render(piano, _note(96, length_s=0.3))[late])
    assert damped < 0.1 * held
    assert undamped > 0.3 * held


def test_harder_is_louder(piano):
    """Amplitude follows velocity ** 1.7 whichever layer sounds."""
    soft = conditions.rms(_render(piano, _note(60, velocity=40)))
    loud = conditions.rms(_render(piano, _note(60, velocity=80)))
    assert loud / soft == pytest.approx(2**1.7, rel=0.02)


@pytest.mark.parametrize("change", [conditions.room, conditions.phone])
def test_conditions_keep_length_and_do_not_move_attacks(piano, change):
    """Whatever happens to the sound, its first moment stays where it was."""
    sound = _render(piano, _note(60, onset_s=0.5))
    for seed in range(6):
        changed = change(np.random.default_rng(seed), sound, RATE_HZ)
        assert len(changed) == len(sound)
        assert np.all(np.isfinite(changed))
        level = np.abs(changed)
        start = round(0.5 * RATE_HZ)
        assert level[: start - 40].max() < 0.1 * level.max()
        assert level[start : start + 160].max() > 0.15 * level.max()


def test_a_phone_is_narrow_and_levels_out(piano):
    """Little is left below 60 Hz; soft and loud notes come closer together."""
    sound = _render(piano, _note(60, 0.2, 0.8, 110), _note(60, 1.3, 0.8, 40))
    even = conditions.automatic_gain(sound, RATE_HZ, strength=0.7)
    halves = slice(3200, 16000), slice(20800, 33600)
    before = conditions.rms(sound[halves[0]]) / conditions.rms(sound[halves[1]])
    after = conditions.rms(even[halves[0]]) / conditions.rms(even[halves[1]])
    assert after < 0.7 * before
    times = np.arange(RATE_HZ) / RATE_HZ
    rumble = np.sin(2 * np.pi * 40 * times).astype(np.float32)
    both = rumble + np.sin(2 * np.pi * 1000 * times).astype(np.float32)
    spectrum = np.abs(np.fft.rfft(conditions.phone(np.random.default_rng(2), both, RATE_HZ)))
    assert spectrum[40] < 0.5 * spectrum[1000]


def test_a_mix_has_the_level_that_was_asked_for():
    """-12 dB is a quarter of the amplitude (20 log10)."""
    rng = np.random.default_rng(0)
    sound = rng.standard_normal(16000).astype(np.float32)
    other = rng.standard_normal(16000).astype(np.float32)
    added = conditions.mixed(sound, other, level_db=-12.04) - sound
    assert conditions.rms(added) / conditions.rms(sound) == pytest.approx(0.25, rel=0.02)


def test_rooms_decay_by_their_reverberation_time():
    """The response's last tenth is at least 35 dB below its first 50 ms (60 dB over the whole)."""
    for seed in range(5):
        response = conditions.room_response(np.random.default_rng(seed), RATE_HZ)
        assert response[0] == 1.0
        early = np.sqrt(np.mean(response[100:800] ** 2))
        late = np.sqrt(np.mean(response[-len(response) // 10 :] ** 2))
        assert 20 * np.log10(late / early) < -35


def test_the_band_follows_the_take(folder):
    """Bass and drums sound over the whole take and have its length."""
    bank = load_bank(folder, split="train")
    take = make_take(1, LISTED, duration_s=12)
    band = bass_and_drums(
        np.random.default_rng(0), take, bank["test_bass"], bank["test_drums"], rate_hz=RATE_HZ
    )
    assert len(band) == round(take.duration_s * RATE_HZ)
    thirds = np.array_split(band[: round(take.beats_s[-1] * RATE_HZ)], 3)
    assert min(conditions.rms(part) for part in thirds) > 0.01


@pytest.mark.skipif(not has_speech(), reason="espeak-ng is not installed")
def test_speech_fills_the_time_asked_for():
    """Speech has pauses but is there."""
    sound = speech(np.random.default_rng(0), 3 * RATE_HZ, RATE_HZ)
    assert len(sound) == 3 * RATE_HZ
    assert conditions.rms(sound) > 0.01
