"""Notes that are clicks: wood rings at a pitch for an instant, and an ear may write it down.

A note may be a click when a click stands at its onset, it lies where wood and sticks ring,
hardly anything else up there is struck with it, and the sound at its pitch has fallen within a
seventh of a second. A high string that is damped at once does that too; but a click comes
again at the same pitch. So notes are taken out where several at one pitch, and most of those
that are there, may be clicks.
"""

from collections import Counter
from collections.abc import Sequence

import numpy as np

from listen.clicks import Clicks
from shared.notes import Note
from shared.sound import Audio, Samples, Tuning
from shared.units import midi_to_hz

_LOWEST_MIDI = 79  # wood, sticks and beeps ring higher
_REACH_S = 0.04  # from click to onset
_GONE_DB = 7.0  # fall of the treble after the click
_FALL_DB = 7.5  # of the note: 95 of 100 click notes fall further, hardly a struck one
_MOST_AT_ONCE = 2  # high notes that an ear makes of one click
_FEWEST, _LEAST_SHARE = 4, 0.6  # clicks at one pitch, and their share of the notes there
_WINDOW_S = 0.05
_STRUCK_S, _LATER_S = 0.01, 0.14  # after the onset


def without_clicked(
    notes: Sequence[Note], clicks: Clicks, audio: Audio, tuning: Tuning
) -> tuple[Note, ...]:
    """The notes but for those that are clicks. clicks: all of `find_clicks`."""
    sharp = clicks.time_s[clicks.gone_db >= _GONE_DB]
    high = [note for note in notes if note.midi >= _LOWEST_MIDI]
    onsets_s = np.array([note.onset_s for note in high])
    found = [
        note
        for note in high
        if np.sum(np.abs(onsets_s - note.onset_s) <= _REACH_S) <= _MOST_AT_ONCE
        and _is_click(note, sharp, audio, tuning)
    ]
    all_there, clicks_there = (Counter(note.midi for note in some) for some in (high, found))
    often = {
        midi
        for midi, count in clicks_there.items()
        if count >= _FEWEST and count >= _LEAST_SHARE * all_there[midi]
    }
    out = {(note.midi, note.onset_s) for note in found if note.midi in often}
    return tuple(note for note in notes if (note.midi, note.onset_s) not in out)


def _is_click(note: Note, clicks_s: np.ndarray, audio: Audio, tuning: Tuning) -> bool:
    first = int(np.searchsorted(clicks_s, note.onset_s - _REACH_S))
    if first == len(clicks_s) or clicks_s[first] > note.onset_s + _REACH_S:
        return False
    pitch_hz = midi_to_hz(note.midi, offset_cents=tuning.offset_cents)
    struck, later = (
        _level_db(audio.samples, note.onset_s + after_s, pitch_hz, audio.sample_rate_hz)
        for after_s in (_STRUCK_S, _LATER_S)
    )
    return struck - later >= _FALL_DB


def _level_db(samples: Samples, start_s: float, pitch_hz: float, rate_hz: int) -> float:
    """Level at a pitch in the window that begins at `start_s`."""
    start, size = round(start_s * rate_hz), round(_WINDOW_S * rate_hz)
    part = samples[start : start + size]
    wave = np.exp(-2j * np.pi * pitch_hz / rate_hz * np.arange(len(part)))
    power = np.abs(np.sum(part * np.hanning(len(part)) * wave)) ** 2 / size**2
    return float(10.0 * np.log10(power + 1e-14))
