"""Who else sounds in a recording: a bass player, a drummer, somebody talking.

Bass and drums follow a take's chords and beats and are rendered from the note bank; they
are what must not be heard as the piano's notes. Speech comes from espeak-ng where it is
installed. Float32 samples of one channel at `rate_hz`.
"""

import shutil
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile
import soxr

from bench.render import render_notes
from bench.truth import TrueNote, TrueTake
from shared.complaint import Complaint
from training.bank import Instrument

KICK, SNARE, CLOSED_HAT, PEDAL_HAT, RIDE = 36, 38, 42, 44, 51  # General MIDI percussion keys
BASS_LOW = 28  # E1

SENTENCES = (
    "All right, one more time from the bridge, and this time let the left hand breathe.",
    "No, wait. The second chord was too loud. Can you play it softer, please?",
    "Is it recording? Good. Then we start in three, two, one.",
    "I think the inner voice should move down by a half step there.",
    "Somebody left the window open again, it is freezing in this room.",
)
VOICES = ("en-us", "en-gb", "en-us+f3", "en-gb+m5", "en-us+f5")


def bass_and_drums(
    rng: np.random.Generator,
    take: TrueTake,
    bass: Instrument,
    drums: Instrument,
    *,
    rate_hz: int,
) -> np.ndarray:
    """A walking bass and a ride pattern under a take, of its length."""
    line = render_notes(_walking_line(rng, take), bass, rate_hz=rate_hz, duration_s=take.duration_s)
    kit = render_notes(_ride_pattern(rng, take), drums, rate_hz=rate_hz, duration_s=take.duration_s)
    return line + float(rng.uniform(0.4, 1.0)) * kit


def _walking_line(rng: np.random.Generator, take: TrueTake) -> tuple[TrueNote, ...]:
    """Quarter notes: the chord's root where one starts, then steps and chord tones."""
    beat_s = 60 / take.tempo_bpm
    roots = [(one.onset_s, one.chord.root_pc) for one in take.attacks if one.chord]
    pitch = BASS_LOW + int(rng.integers(5, 15))
    heard: int | None = None
    notes = []
    for beat in take.beats_s:
        past = [root for onset, root in roots if onset <= beat + 0.3]
        root = past[-1] if past else None
        if root is not None and root != heard:
            pitch = BASS_LOW + (root - BASS_LOW) % 12
            heard = root
        else:
            pitch += int(rng.choice([-5, -4, -3, -2, -1, 1, 2, 3, 4, 7]))
            pitch = int(np.clip(pitch, BASS_LOW, BASS_LOW + 24))
        onset = max(0.0, beat + rng.normal(0, 0.008))
        notes.append(_note(onset, 0.9 * beat_s, pitch, int(rng.integers(70, 105))))
    return tuple(notes)


def _ride_pattern(rng: np.random.Generator, take: TrueTake) -> tuple[TrueNote, ...]:
    """Ride on every beat with swung skips, hi-hat on two and four, odd snare and kick."""
    beat_s = 60 / take.tempo_bpm
    notes = []
    for index, beat in enumerate(take.beats_s):
        notes.append(_note(beat, 1.5, RIDE, int(rng.integers(55, 90))))
        if index % 2:
            notes.append(_note(beat, 0.3, PEDAL_HAT, int(rng.integers(50, 85))))
            notes.append(_note(beat + 0.64 * beat_s, 1.0, RIDE, int(rng.integers(40, 75))))
        if rng.random() < 0.35:
            drum = int(rng.choice([KICK, SNARE, CLOSED_HAT]))
            notes.append(_note(beat + 0.64 * beat_s, 0.4, drum, int(rng.integers(40, 90))))
    return tuple(notes)


def _note(onset_s: float, length_s: float, midi: int, velocity: int) -> TrueNote:
    end = onset_s + length_s
    return TrueNote(onset_s=onset_s, key_up_s=end, offset_s=end, midi=midi, velocity=velocity)


def has_speech() -> bool:
    """Whether espeak-ng can be run here."""
    return shutil.which("espeak-ng") is not None


def speech(rng: np.random.Generator, n_samples: int, rate_hz: int) -> np.ndarray:
    """Somebody talking, with pauses; raises Complaint where espeak-ng is missing."""
    if not has_speech():
        raise Complaint("espeak-ng is not installed, so speech cannot be made; install espeak-ng")
    voice = VOICES[rng.integers(len(VOICES))]
    parts: list[np.ndarray] = []
    while sum(map(len, parts)) < n_samples:
        sentence = SENTENCES[rng.integers(len(SENTENCES))]
        parts.append(_spoken(sentence, voice, int(rng.integers(130, 190)), rate_hz))
        parts.append(np.zeros(int(rate_hz * rng.uniform(0.2, 1.0)), np.float32))
    return np.concatenate(parts)[:n_samples]


def _spoken(sentence: str, voice: str, words_a_minute: int, rate_hz: int) -> np.ndarray:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "speech.wav"
        command = ["espeak-ng", "-v", voice, "-s", str(words_a_minute), "-w", str(path), sentence]
        subprocess.run(command, check=True, capture_output=True)
        sound, file_rate_hz = soundfile.read(path, dtype="float32")
    return soxr.resample(sound, file_rate_hz, rate_hz).astype(np.float32)
