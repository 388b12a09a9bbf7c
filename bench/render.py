"""A made take as sound: single notes of a sampled instrument, added up.

Each note comes from the layer nearest in velocity and its nearest zone, resampled by the
ratio of the two pitches (so a semitone up is 2 ** (1/12) faster), scaled to its velocity,
and let go with a short exponential release when it is damped. Layers are levelled in the
bank, so loudness follows from velocity alone: amplitude ~ velocity ** 1.7, about 20 dB from
30 to 115; synthesizers commonly take the power 2 (memory). Layers are not mixed:
two recordings of one key added together comb each other.
Samples are float32, one channel, at the bank's rate.
"""

from functools import lru_cache

import numpy as np
import soxr

from bench.truth import TrueNote, TrueTake
from training.bank import Instrument, Layer

LOUDNESS_POWER = 1.7
RELEASE_S = (0.08, 0.30)  # time constant's range: felt dampers, high to low strings
UNDAMPED_FROM = 90  # the highest strings of a piano have no dampers (from about F#6)
FADE_IN_S = 0.001


def render_take(
    take: TrueTake, instrument: Instrument, *, rate_hz: int, detune_cents: float = 0.0
) -> np.ndarray:
    """The take on one instrument, every string `detune_cents` away from its sample's pitch."""
    return render_notes(
        take.notes,
        instrument,
        rate_hz=rate_hz,
        duration_s=take.duration_s,
        detune_cents=detune_cents,
    )


def render_notes(
    notes: tuple[TrueNote, ...],
    instrument: Instrument,
    *,
    rate_hz: int,
    duration_s: float,
    detune_cents: float = 0.0,
) -> np.ndarray:
    """Notes on one instrument, in a buffer of `duration_s`; peak left as it falls."""
    sound = np.zeros(round(duration_s * rate_hz), np.float32)
    for note in notes:
        wave = _one_note(note, instrument, rate_hz, detune_cents)
        start = round(note.onset_s * rate_hz)
        part = wave[: max(0, len(sound) - start)]
        sound[start : start + len(part)] += part
    return sound


def _one_note(
    note: TrueNote, instrument: Instrument, rate_hz: int, detune_cents: float
) -> np.ndarray:
    layer = min(instrument.layers, key=lambda one: abs(one.velocity - note.velocity))
    wave = pitched_sample(layer, note.midi, rate_hz, round(detune_cents, 2))
    gain = (note.velocity / 100) ** LOUDNESS_POWER
    return _let_go(wave * np.float32(gain), note, instrument, rate_hz)


@lru_cache(maxsize=2048)
def pitched_sample(layer: Layer, midi: int, rate_hz: int, detune_cents: float) -> np.ndarray:
    """The nearest zone's note, resampled to a pitch; read-only."""
    zone = int(np.argmin(np.abs(layer.pitches - midi)))
    semitones = midi - int(layer.pitches[zone]) + detune_cents / 100
    wave = layer.notes[zone]
    if semitones:
        wave = soxr.resample(wave, rate_hz * 2 ** (semitones / 12), rate_hz, quality="HQ")
    wave = wave.astype(np.float32)
    fade = round(FADE_IN_S * rate_hz)
    wave[:fade] *= np.linspace(0, 1, fade, dtype=np.float32)
    wave.setflags(write=False)
    return wave


def _let_go(wave: np.ndarray, note: TrueNote, instrument: Instrument, rate_hz: int) -> np.ndarray:
    """Ring until the damper falls, then die away; undamped strings ring on."""
    if instrument.role == "piano" and note.midi >= UNDAMPED_FROM:
        return wave
    release_s = float(np.interp(note.midi, (36, 84), RELEASE_S[::-1]))
    until = round((note.offset_s - note.onset_s) * rate_hz)
    tail = wave[until : until + round(5 * release_s * rate_hz)]
    decay = np.exp(-np.arange(len(tail), dtype=np.float32) / (release_s * rate_hz))
    return np.concatenate([wave[:until], tail * decay])
