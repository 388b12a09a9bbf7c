"""How hard a key was struck, from how loud its partials come up.

Level: power of the first partials of the note in the tenth of a second after its onset,
less what was there before. Partials that other keys of the attack share are counted for
both. Velocity: the level against the loudest notes of the same take, since a recording's
own gain says nothing; common practice for sampled pianos is some 0.3 dB for each step of
velocity.
"""

import dataclasses

import numpy as np

from stackline.listen.recording.slices import stretch
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import midi_to_hz

_WINDOW_S = 0.12
_SKIP_S = 0.01  # around the onset: the hammer's noise
_PARTIALS = 3  # partials that are listened to
_DB_PER_STEP = 0.3
_LOUD_VELOCITY = 100  # of the loudest notes of a take (95th percentile)
_SILENT = 1e-14  # power below any recording's noise


def with_levels(notes: tuple[Note, ...], audio: Audio, tuning: Tuning) -> tuple[Note, ...]:
    """The same notes with velocities from the recording."""
    if not notes:
        return ()
    size = int(_WINDOW_S * audio.sample_rate_hz)
    skip = int(_SKIP_S * audio.sample_rate_hz)
    probes = {
        midi: _probe(midi_to_hz(midi, offset_cents=tuning.offset_cents), audio, size)
        for midi in {note.midi for note in notes}
    }
    levels_db = np.empty(len(notes))
    for index, note in enumerate(notes):
        at, probe = round(note.onset_s * audio.sample_rate_hz), probes[note.midi]
        after = _power(stretch(audio.samples, at + skip, size), probe)
        before = _power(stretch(audio.samples, at - skip - size, size), probe)
        levels_db[index] = 10.0 * np.log10(max(after - before, _SILENT))
    steps = _LOUD_VELOCITY + (levels_db - np.percentile(levels_db, 95)) / _DB_PER_STEP
    velocities = np.clip(np.rint(steps), 1, 127).astype(int)
    return tuple(
        dataclasses.replace(note, velocity=int(velocity))
        for note, velocity in zip(notes, velocities, strict=True)
    )


def _probe(frequency_hz: float, audio: Audio, size: int) -> np.ndarray:
    """Windowed complex sines at a note's first partials, shape (n_partials, size)."""
    partials = frequency_hz * np.arange(1, _PARTIALS + 1)
    audible = partials[partials < 0.45 * audio.sample_rate_hz]
    phase = 2j * np.pi / audio.sample_rate_hz * np.outer(audible, np.arange(size))
    return (np.exp(-phase) * np.hanning(size) / size).astype(np.complex64)


def _power(part: np.ndarray, probe: np.ndarray) -> float:
    """Summed power of a stretch at a probe's frequencies."""
    return float(np.sum(np.abs(probe @ part) ** 2))
