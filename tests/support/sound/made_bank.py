"""A tiny note bank of plucked sines for tests: no samples of real instruments are needed."""

import json
from pathlib import Path

import numpy as np
import soundfile

RATE_HZ = 16_000
SLOT_S = 1.5
ROLES = {
    "test_piano": ("piano", "dev"),
    "test_tines": ("electric_piano", "dev"),
    "other_piano": ("piano", "train"),
    "test_bass": ("bass", "train"),
    "test_drums": ("drums", "train"),
    "test_horn": ("lead", "train"),
}


def write_bank(folder: Path) -> Path:
    """Write a bank with two velocity layers an instrument; gives the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    instruments = {
        name: {
            "role": role,
            "split": split,
            "source": "made for tests",
            "licence": "CC0-1.0",
            "layers": [_layer(folder, name, velocity) for velocity in (50, 100)],
        }
        for name, (role, split) in ROLES.items()
    }
    manifest = {"sample_rate_hz": RATE_HZ, "slot_s": SLOT_S, "instruments": instruments}
    (folder / "instruments.json").write_text(json.dumps(manifest), encoding="utf-8")
    return folder


def _layer(folder: Path, name: str, velocity: int) -> dict:
    pitches = list(range(24, 109, 6))
    times = np.arange(round(SLOT_S * RATE_HZ)) / RATE_HZ
    waves = []
    for pitch in pitches:
        f0 = 440 * 2 ** ((pitch - 69) / 12)
        partials = [n for n in (1, 2, 3) if n * f0 < RATE_HZ / 2]
        wave = sum(np.sin(2 * np.pi * n * f0 * times) / n for n in partials)
        waves.append(0.5 * wave * np.exp(-2 * times))
    file = f"{name}-{velocity}.wav"
    soundfile.write(folder / file, np.concatenate(waves), RATE_HZ)
    zones = [{"pitch": pitch, "start_s": SLOT_S * i} for i, pitch in enumerate(pitches)]
    return {"velocity": velocity, "file": file, "zones": zones}
