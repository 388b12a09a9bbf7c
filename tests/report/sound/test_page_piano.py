"""The page's bundled piano."""

import io
from importlib import resources

import numpy as np
import pytest
import soundfile

from fixtures.make_page_piano import PEAK, strip
from fixtures.sounded.bank import Layer
from stackline.report.sound.page_piano import FILE, LEAD_S, PITCHES, SLOT_S, piano_json
from stackline.shared.complaint import Complaint
from stackline.shared.units import midi_to_hz


def decoded() -> tuple[np.ndarray, int]:
    """The strip as libsndfile hears it."""
    data = (resources.files("stackline.report.sound") / FILE).read_bytes()
    samples, rate_hz = soundfile.read(io.BytesIO(data))
    return samples, rate_hz


def test_the_piano_is_small() -> None:
    """No more than 250 kB of a page."""
    assert len(piano_json()) <= 250_000


def test_no_key_is_far_from_a_sampled_one() -> None:
    """Any key of a piano is reached within four semitones, the comping range within two."""
    for midi in range(21, 109):
        away = min(abs(midi - pitch) for pitch in PITCHES)
        assert away <= (2 if 36 <= midi <= 84 else 3)


@pytest.mark.parametrize("slot", range(len(PITCHES)))
def test_each_slot_holds_its_note(slot: int) -> None:
    """Partials (f = 440 * 2 ** ((n - 69) / 12), MIDI Tuning Standard) are strongest at the
    pitch it is named for, and it begins after the lead.
    """
    samples, rate_hz = decoded()
    start = round(slot * SLOT_S * rate_hz)
    note = samples[start : start + round(SLOT_S * rate_hz)]
    lead = round(LEAD_S * rate_hz)
    assert np.abs(note[: lead // 2]).max() < 0.1 * np.abs(note).max()
    assert np.abs(note[lead : lead + rate_hz // 5]).max() > 0.5 * np.abs(note).max()
    spectrum = np.abs(np.fft.rfft(note[lead : lead + rate_hz] * np.hanning(rate_hz)))

    def strength(midi: float) -> float:
        hz = midi_to_hz(midi) * np.arange(1, 7)
        bins = np.round(hz[hz < rate_hz / 2]).astype(int)  # one bin a hertz
        return float(sum(spectrum[max(b - 1, 0) : b + 2].max() for b in bins))

    candidates = [PITCHES[slot] + step / 2 for step in range(-6, 7)]
    assert max(candidates, key=strength) == pytest.approx(PITCHES[slot], abs=0.5)


def layer_of(pitches: tuple[int, ...], rate_hz: int) -> Layer:
    """Notes of constant level, each as loud as its number in the row."""
    levels = np.arange(1, len(pitches) + 1, dtype=np.float32)
    notes = np.repeat(levels[:, np.newaxis], 2 * rate_hz, axis=1)
    return Layer(velocity=50, pitches=np.array(pitches), notes=notes)


def test_the_strip_is_cut_in_slots() -> None:
    """Silence, the note, a fade to nothing; loudness between notes is kept."""
    rate_hz = 1000
    rows = strip(layer_of(PITCHES, rate_hz), rate_hz).reshape(len(PITCHES), -1)
    assert rows.shape[1] == SLOT_S * rate_hz
    lead = round(LEAD_S * rate_hz)
    assert not rows[:, :lead].any()
    assert rows[:, lead] == pytest.approx(PEAK * np.arange(1, 24) / 23)
    assert np.abs(rows[:, -1]).max() < 1e-6


def test_a_bank_without_a_note_is_told() -> None:
    """The sentence names the note that is missing."""
    with pytest.raises(Complaint, match="has no note 108"):
        strip(layer_of(PITCHES[:-1], 1000), 1000)
