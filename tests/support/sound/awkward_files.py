"""Files that players really have and programs trip over, made on the spot.

Each has a name and what must come of it: "complaint" (one clear sentence), "nothing" (a
report that says that no attacks were heard) or "notes" (heard as usual). Use `make`.
"""

import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import soundfile

RATE_HZ = 22_050
PIANO_LIKE_MIDI = 60


@dataclass(frozen=True, kw_only=True)
class Awkward:
    """An awkward file. write: makes it at a path. needs: a program it cannot be made without."""

    file: str
    outcome: Literal["complaint", "nothing", "notes"]
    write: Callable[[Path], None]
    needs: str | None = None

    @property
    def can_be_made(self) -> bool:
        """Whether what it needs is installed."""
        return self.needs is None or shutil.which(self.needs) is not None


def struck(
    midi: int = PIANO_LIKE_MIDI, *, rate_hz: int = RATE_HZ, seconds: float = 2.0
) -> np.ndarray:
    """Half a second of silence and one struck note: eight partials that die away, float64."""
    times = np.arange(round(seconds * rate_hz)) / rate_hz
    f0 = 440 * 2 ** ((midi - 69) / 12)
    partials = [n for n in range(1, 9) if n * f0 < rate_hz / 2]
    note = sum(np.sin(2 * np.pi * n * f0 * times) * np.exp(-n * times) / n for n in partials)
    note *= np.minimum(1.0, times / 0.002)
    return 0.3 * np.concatenate([np.zeros(rate_hz // 2), note])


def _text(path: Path) -> None:
    path.write_text("Practice the bridge in all keys, then rest.\n" * 20, encoding="utf-8")


def _zero_bytes(path: Path) -> None:
    path.write_bytes(b"")


def _zero_seconds(path: Path) -> None:
    soundfile.write(path, np.zeros(0), RATE_HZ)


def _silence(path: Path) -> None:
    soundfile.write(path, np.zeros(3 * RATE_HZ), RATE_HZ)


def _noise(path: Path) -> None:
    rng = np.random.default_rng(0)
    soundfile.write(path, 0.05 * rng.standard_normal(4 * RATE_HZ), RATE_HZ)


def _speech(path: Path) -> None:
    words = "Good morning. We start with the slow one, and then the fast one."
    command = ["espeak-ng", "-v", "en-gb", "-w", str(path), words]
    subprocess.run(command, check=True, capture_output=True)


def _one_note(path: Path) -> None:
    soundfile.write(path, struck(), RATE_HZ)


def _nan_samples(path: Path) -> None:
    sound = struck().astype(np.float32)
    sound[len(sound) // 2 : len(sound) // 2 + 50] = np.nan
    soundfile.write(path, sound, RATE_HZ, subtype="FLOAT")


def _all_nan(path: Path) -> None:
    soundfile.write(path, np.full(RATE_HZ, np.nan, np.float32), RATE_HZ, subtype="FLOAT")


def _eight_channels(path: Path) -> None:
    sound = struck(rate_hz=8_000)
    soundfile.write(path, np.stack([sound] * 8, axis=1), 8_000)


def _very_fast(path: Path) -> None:
    soundfile.write(path, struck(rate_hz=192_000), 192_000, subtype="PCM_24")


def _whole_m4a(path: Path) -> None:
    from fixtures.make_audio import write_m4a

    write_m4a(path, np.tile(struck(), 6).astype(np.float32), RATE_HZ)


def _truncated_m4a(path: Path) -> None:
    _whole_m4a(path)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 6 // 10])


def _beheaded_m4a(path: Path) -> None:
    """As a phone leaves it when the battery dies: sound data, but no index of it."""
    _whole_m4a(path)
    data = path.read_bytes()
    path.write_bytes(data[:32] + data[len(data) // 2 :])


AWKWARD: dict[str, Awkward] = {
    "text renamed .wav": Awkward(file="notes.wav", outcome="complaint", write=_text),
    "zero bytes": Awkward(file="empty.wav", outcome="complaint", write=_zero_bytes),
    "zero seconds": Awkward(file="short.wav", outcome="complaint", write=_zero_seconds),
    "m4a without its index": Awkward(file="beheaded.m4a", outcome="complaint", write=_beheaded_m4a),
    "every sample NaN": Awkward(file="allnan.wav", outcome="complaint", write=_all_nan),
    "some samples NaN": Awkward(file="nan.wav", outcome="complaint", write=_nan_samples),
    "silence": Awkward(file="silence.wav", outcome="nothing", write=_silence),
    "noise": Awkward(file="noise.wav", outcome="nothing", write=_noise),
    "speech": Awkward(file="speech.wav", outcome="nothing", write=_speech, needs="espeak-ng"),
    "truncated m4a": Awkward(file="cut.m4a", outcome="notes", write=_truncated_m4a),
    "one note": Awkward(file="one.wav", outcome="notes", write=_one_note),
    "eight channels at 8 kHz": Awkward(file="eight.wav", outcome="notes", write=_eight_channels),
    "192 kHz": Awkward(file="fast.wav", outcome="notes", write=_very_fast),
}


def make(name: str, folder: Path) -> Path:
    """Make one of `AWKWARD` in a folder; gives its path."""
    awkward = AWKWARD[name]
    path = folder / awkward.file
    awkward.write(path)
    return path
