"""Talk, as what is not to be heard, spoken by espeak-ng (GPL-3 program; its output is ours).

``python -m training.speech speech.ogg`` writes some minutes of it at 16 kHz. Training without
such a file works; the ear then mistakes a talker's vowels for notes more often.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile
import soxr

from listen.features import SAMPLE_RATE_HZ

VOICES = ("en-us", "en-gb", "de", "fr", "it", "es", "sv", "pl", "nl", "pt")
SENTENCES = (
    "Let me play that again from the bridge, a little slower this time.",
    "One, two, one two three four. No, wait, the left hand was late.",
    "So the top voice stays where it is and the thirds move down by a step.",
    "Can you hear the difference when I leave out the fifth in the middle?",
    "I think the microphone is too close to the window, there is a lot of noise.",
    "Now in the next key. And the next. And once more without looking down.",
)


def speak(sentence: str, voice: str, pitch: int, speed: int) -> np.ndarray:
    """One sentence as float32 at SAMPLE_RATE_HZ; needs espeak-ng on the path."""
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        command = ["espeak-ng", "-v", voice, "-p", str(pitch), "-s", str(speed)]
        subprocess.run([*command, "-w", file.name, sentence], check=True, capture_output=True)
        sound, rate = soundfile.read(file.name, dtype="float32")
    result: np.ndarray = soxr.resample(sound, rate, SAMPLE_RATE_HZ)
    return result


def talk(seed: int = 3, minutes: float = 6.0) -> np.ndarray:
    """Many talkers one after the other."""
    rng, parts, total = np.random.default_rng(seed), [], 0
    while total < minutes * 60 * SAMPLE_RATE_HZ:
        voice = VOICES[int(rng.integers(len(VOICES)))]
        kind = ("+m3", "+m7", "+f2", "+f4", "")[int(rng.integers(5))]
        sentence = SENTENCES[int(rng.integers(len(SENTENCES)))]
        pitch, speed = int(rng.integers(10, 90)), int(rng.integers(110, 210))
        sound = speak(sentence, voice + kind, pitch, speed)
        parts.append(sound / max(1e-6, np.abs(sound).max()) * 0.5)
        total += len(sound)
    return np.concatenate(parts).astype(np.float32)


if __name__ == "__main__":
    with soundfile.SoundFile(Path(sys.argv[1]), "w", SAMPLE_RATE_HZ, 1) as out:
        sound = talk()
        for start in range(0, len(sound), 8000):
            out.write(sound[start : start + 8000])
