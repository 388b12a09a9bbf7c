"""Instruments with other strengths of their partials, for material that classifiers learn from."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from fixtures.sounded.bank import Instrument, Layer
from stackline.shared.units import midi_to_hz

PARTIALS = 24  # whose strengths change; the last one's change goes on above
_LAYER_DB = 1.0  # by which the loudnesses of a key differ


def through_curves(
    rng: np.random.Generator, player: Instrument, curves: Mapping[int, np.ndarray], rate_hz: int
) -> Instrument:
    """The instrument with the partials of each key raised and lowered, its loudness kept.

    curves: for each pitch (MIDI) gains in dB of what lies below the first partial, and of
    partials 1 to `PARTIALS`. A key's curve is nearly the same in all layers.
    """
    layers = []
    for layer in player.layers:
        length = layer.notes.shape[1]
        spectra = np.fft.rfft(layer.notes, axis=1)
        frequencies = np.fft.rfftfreq(length, 1 / rate_hz)
        notes = np.empty_like(layer.notes)
        for row, pitch in enumerate(layer.pitches):
            curve_db = curves[int(pitch)] + rng.normal(0.0, _LAYER_DB, PARTIALS + 1)
            partial = frequencies / midi_to_hz(float(pitch))
            gain_db = np.interp(partial, np.arange(PARTIALS + 1), curve_db)
            wave = np.fft.irfft(spectra[row] * 10 ** (gain_db / 20), length)
            loudness = np.sqrt(np.mean(layer.notes[row] ** 2) / max(np.mean(wave**2), 1e-12))
            notes[row] = wave * loudness
        layers.append(Layer(velocity=layer.velocity, pitches=layer.pitches, notes=notes))
    return replace(player, layers=tuple(layers))
