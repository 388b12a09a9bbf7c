"""Clicks are found where they were made, never where strings are struck, and are no notes."""

import numpy as np
import pytest

from fixtures.sounded.room_clicks import KINDS, make_click
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.other_sounds.clicked_notes import without_clicked
from stackline.listen.other_sounds.clicks import apart_from, find_clicks
from stackline.listen.time.readings import regularity
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning
from tests.support.sound.sounds import chords, sine

RATE = 16_000
IN_TUNE = Tuning(offset_cents=0.0, confidence=1.0)
CLICKED = 0.75 + 0.5 * np.arange(20)
PLAYED = [(0.5 + 1.0 * i, (53, 57, 60, 64)) for i in range(10)]


def audio(sound: np.ndarray, rate_hz: int = RATE) -> Audio:
    """A recording of that sound, with the hiss of a quiet room at -72 dB."""
    hiss = 2.5e-4 * np.random.default_rng(1).standard_normal(len(sound))
    samples = (sound + hiss).astype(np.float32)
    return Audio(name="take", samples=samples, sample_rate_hz=rate_hz, sha256="0" * 64)


def with_clicks(sound: np.ndarray, kind: str, times_s: np.ndarray, rate_hz: int) -> np.ndarray:
    """The sound and clicks at half its loudness."""
    mixed = sound.copy()
    rng = np.random.default_rng(3)
    for time_s in times_s:
        click = 0.15 * make_click(rng, kind, rate_hz)
        start = round(time_s * rate_hz)
        mixed[start : start + len(click)] += click
    return mixed


def note(midi: int, onset_s: float) -> Note:
    """A note as an ear writes it down."""
    return Note(onset_s=onset_s, offset_s=onset_s + 0.3, midi=midi, velocity=64, confidence=0.9)


def played_notes() -> tuple[Note, ...]:
    """What the chords were."""
    return tuple(note(midi, at) for at, midis in PLAYED for midi in midis)


@pytest.mark.parametrize("rate_hz", [16_000, 22_050])
@pytest.mark.parametrize("kind", KINDS)
def test_every_click_is_found_between_chords(kind: str, rate_hz: int) -> None:
    """Twenty clicks over ringing chords: all of them, within 15 ms of where they were made."""
    sound = chords(PLAYED, duration_s=11.0, rate_hz=rate_hz)
    found = find_clicks(audio(with_clicks(sound, kind, CLICKED, rate_hz), rate_hz))
    apart = apart_from(found, find_attacks(played_notes()))
    nearest = np.min(np.abs(apart.time_s[:, None] - CLICKED), axis=0)
    assert np.all(nearest < 0.015)
    assert np.all(np.diff(found.time_s) > 0)


def test_chords_alone_hold_no_click_between_them() -> None:
    """The hammer's noise is not taken for a metronome."""
    found = find_clicks(audio(chords(PLAYED, duration_s=11.0, rate_hz=RATE)))
    apart = apart_from(found, find_attacks(played_notes()))
    assert not apart.alone.any()


def test_a_metronome_is_regular_and_random_clicks_are_not() -> None:
    """Even clicks fall on one place of the beat; as many at random moments anywhere."""
    rng = np.random.default_rng(0)
    at_random = np.sort(rng.uniform(0.3, 10.0, 20))
    silence = np.zeros(11 * RATE)
    even = find_clicks(audio(with_clicks(silence, "sticks", CLICKED, RATE)))
    uneven = find_clicks(audio(with_clicks(silence, "sticks", at_random, RATE)))
    assert regularity(CLICKED, even.time_s) > 2.0
    assert regularity(CLICKED, uneven.time_s) < 0.3


def test_silence_and_very_short_sounds_hold_no_clicks() -> None:
    """Nothing to find is no error."""
    for samples in (0, 1, 100, RATE):
        assert len(find_clicks(audio(np.zeros(samples))).time_s) == 0


def test_a_click_is_found_wherever_blocks_are_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reading in blocks of half a second changes nothing."""
    sound = audio(with_clicks(chords(PLAYED, duration_s=11.0, rate_hz=RATE), "snap", CLICKED, RATE))
    whole = find_clicks(sound)
    monkeypatch.setattr("stackline.listen.other_sounds.clicks._BLOCK", 100)
    parts = find_clicks(sound)
    np.testing.assert_allclose(parts.time_s, whole.time_s)
    np.testing.assert_allclose(parts.strength, whole.strength, atol=1e-4)


def test_a_click_that_was_heard_as_a_note_is_taken_out() -> None:
    """Wood at 2480 Hz lies near MIDI 99 (MIDI Tuning Standard); struck notes all stay."""
    sound = with_clicks(chords(PLAYED, duration_s=11.0, rate_hz=RATE), "woodblock", CLICKED, RATE)
    heard = (*played_notes(), *(note(99, float(at)) for at in CLICKED))
    kept = without_clicked(heard, find_clicks(audio(sound)), audio(sound), IN_TUNE)
    assert kept == played_notes()


def test_clicks_that_ring_on_in_the_room_are_taken_out_at_whatever_pitch() -> None:
    """Something sounds on at the click's own pitch; some clicks are heard at other keys."""
    sound = with_clicks(chords(PLAYED, duration_s=11.0, rate_hz=RATE), "woodblock", CLICKED, RATE)
    sound = sound + sine(2489.0, len(sound) / RATE, RATE, amplitude=0.05)
    keys = [99, 99, 99, 102, 99, 99, 105, 99, 99, 101] * 2
    clicked = [note(midi, float(at)) for midi, at in zip(keys, CLICKED, strict=True)]
    heard = (*played_notes(), *clicked)
    kept = without_clicked(heard, find_clicks(audio(sound)), audio(sound), IN_TUNE)
    assert kept == played_notes()


def test_a_few_lone_notes_in_the_top_octave_stay() -> None:
    """Four notes of a melody up there, each with a click on it, are too few to be called clicks."""
    sound = with_clicks(chords(PLAYED, duration_s=11.0, rate_hz=RATE), "woodblock", CLICKED, RATE)
    lone = tuple(
        note(midi, float(at)) for midi, at in zip((98, 100, 101, 103), CLICKED, strict=False)
    )
    heard = (*played_notes(), *lone)
    assert without_clicked(heard, find_clicks(audio(sound)), audio(sound), IN_TUNE) == heard


def test_a_high_note_with_a_click_on_it_stays() -> None:
    """A struck string rings on after the click."""
    played = [(at, (76, 88)) for at, _ in PLAYED]
    sound = chords(played, duration_s=11.0, rate_hz=RATE)
    onsets = np.array([at for at, _ in played])
    clicked = audio(with_clicks(sound, "mechanical", onsets, RATE))
    heard = tuple(note(88, float(at)) for at in onsets)
    assert without_clicked(heard, find_clicks(clicked), clicked, IN_TUNE) == heard


def test_short_high_chords_are_no_clicks() -> None:
    """Staccato chords in the top octaves, struck again and again, all stay."""
    played = [(at, (84, 88, 91)) for at, _ in PLAYED]
    sound = chords(played, duration_s=11.0, rate_hz=RATE)
    gate = np.zeros(len(sound))
    for at, _ in played:
        gate[round(at * RATE) : round((at + 0.09) * RATE)] = 1.0
    short = audio(sound * gate)
    heard = tuple(note(midi, at) for at, midis in played for midi in midis)
    assert len(find_clicks(short).time_s) >= len(played)
    assert without_clicked(heard, find_clicks(short), short, IN_TUNE) == heard
