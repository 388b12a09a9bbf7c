"""Pitch, frequency, tempo and clock time: one relation, and one range, for every room.

MIDI note 69 is A4 = 440 Hz; C4 = 60 = middle C. Frequency in equal temperament is
``f = 440 * 2 ** ((n - 69) / 12)`` (MIDI Tuning Standard; OEIS A320304 lists the
rounded values). A take that is tuned away from 440 Hz is described by a
signed offset in cents (1/100 semitone), positive when sharp.
"""

import math

LOWEST_MIDI = 21  # A0, the lowest key of a piano
HIGHEST_MIDI = 108  # C8, the highest
N_KEYS = HIGHEST_MIDI - LOWEST_MIDI + 1
CONCERT_A_HZ = 440.0
CONCERT_A_MIDI = 69
SLOWEST_BPM, FASTEST_BPM = 30.0, 400.0  # what a player may give as a tempo, beats a minute


def midi_to_hz(midi: float, *, offset_cents: float = 0.0) -> float:
    """Frequency in Hz of a (possibly fractional) MIDI note."""
    return CONCERT_A_HZ * 2.0 ** ((midi - CONCERT_A_MIDI + offset_cents / 100.0) / 12.0)


def hz_to_midi(frequency_hz: float) -> float:
    """Fractional MIDI note of a frequency in Hz; raises ValueError unless positive."""
    if not frequency_hz > 0:
        raise ValueError(f"frequency must be positive, got {frequency_hz} Hz")
    return CONCERT_A_MIDI + 12.0 * math.log2(frequency_hz / CONCERT_A_HZ)


def is_tempo(bpm: float) -> bool:
    """Whether a number can be given as a tempo."""
    return SLOWEST_BPM <= bpm <= FASTEST_BPM


def clock(time_s: float) -> str:
    """A time in seconds as a player reads it: ``1:04.3``; never ``0:60.0``."""
    tenths = round(time_s * 10)
    return f"{tenths // 600}:{tenths // 10 % 60:02d}.{tenths % 10}"
