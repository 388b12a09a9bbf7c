"""Notes that are clicks: wood rings at a pitch for an instant, and an ear may write it down.

A note looks like a click when a click stands at its onset, it lies where wood and sticks ring,
no other note up there is struck with it, and either the whole treble falls away at once or
the sound at its own pitch does within a seventh of a second. A high string that is damped at
once does that too; but a click comes again at the same pitch. So notes are taken out at pitches
where many, and most of those that are there, look like clicks; and in the top octave, where
comping hardly goes, all that look so if most of what is there does.
"""

from collections import Counter
from collections.abc import Sequence

import numpy as np

from stackline.listen.other_sounds.clicks import Clicks
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Samples, Tuning
from stackline.shared.units import midi_to_hz

_LOWEST_MIDI = 79  # wood, sticks and beeps ring higher
_TOP_MIDI = 97
_REACH_S = 0.04  # from click to onset
_GONE_DB, _CLEARLY_GONE_DB = 7.0, 12.0  # fall of the treble after the click
_FALL_DB = 7.5  # of the note, where the treble has not clearly gone
_MOST_AT_ONCE = 2  # high notes that an ear makes of one click
# How many look like clicks, and their share of the notes there: at a pitch, at one that is
# often struck, and in the top octave. Of the clicks that the ear wrote down in 32 train takes
# 99 in 100 go so, and of 2100 notes struck from MIDI 79 up none.
_AT_A_PITCH, _OFTEN, _IN_ALL = (8, 0.6), (12, 0.4), (5, 0.6)
_WINDOW_S = 0.05
_STRUCK_S, _LATER_S = 0.01, 0.14  # after the onset


def without_clicked(
    notes: Sequence[Note], clicks: Clicks, audio: Audio, tuning: Tuning
) -> tuple[Note, ...]:
    """The notes but for those that are clicks. clicks: all of `find_clicks`."""
    high = [note for note in notes if note.midi >= _LOWEST_MIDI]
    onsets_s = np.array([note.onset_s for note in high])
    at_once = {note: int(np.sum(np.abs(onsets_s - note.onset_s) <= _REACH_S)) for note in high}
    found = {
        note for note in high if at_once[note] == 1 and _looks_clicked(note, clicks, audio, tuning)
    }
    all_there, clicked_there = (Counter(note.midi for note in some) for some in (high, found))
    pitches = {
        midi
        for midi, count in clicked_there.items()
        if any(_is_enough(count, all_there[midi], *rule) for rule in (_AT_A_PITCH, _OFTEN))
    }
    top = [note for note in high if note.midi >= _TOP_MIDI]
    top_found = {note for note in top if note in found}
    out = {note for note in high if note.midi in pitches and at_once[note] <= _MOST_AT_ONCE}
    if _is_enough(len(top_found), len(top), *_IN_ALL):
        out |= top_found
    return tuple(note for note in notes if note not in out)


def _is_enough(count: int, there: int, fewest: int, least_share: float) -> bool:
    return count >= fewest and count >= least_share * there


def _looks_clicked(note: Note, clicks: Clicks, audio: Audio, tuning: Tuning) -> bool:
    """Whether a click stands at its onset, and it or the treble falls away."""
    if not len(clicks.time_s):
        return False
    nearest = int(np.argmin(np.abs(clicks.time_s - note.onset_s)))
    gone_db = float(clicks.gone_db[nearest])
    if abs(clicks.time_s[nearest] - note.onset_s) > _REACH_S or gone_db < _GONE_DB:
        return False
    if gone_db >= _CLEARLY_GONE_DB:
        return True
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
