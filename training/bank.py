"""A bank of single notes of real instruments: what takes are synthesised from.

A bank is a folder with `instruments.json` (``sample_rate_hz``, ``slot_s`` and, for each
instrument, ``role``, ``split``, ``source``, ``licence`` and ``layers``; a layer has a
``velocity``, a ``file`` and ``zones``, each a ``pitch`` and its ``start_s``) and one
audio file per layer in which every note starts at its zone's ``start_s`` and rings for at
most ``slot_s`` seconds. Splits keep apart what is trained on (``train``) from what figures
are quoted for (``dev``).
"""

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from shared.complaint import Complaint


@dataclass(frozen=True, kw_only=True, eq=False)
class Layer:
    """Notes of one loudness. pitches: (n,) MIDI, rising. notes: (n, slot) float32."""

    velocity: int
    pitches: np.ndarray
    notes: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class Instrument:
    """One sampled instrument; layers by rising velocity."""

    name: str
    role: str
    split: str
    source: str
    licence: str
    layers: tuple[Layer, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Bank:
    """Instruments of one split at one sample rate."""

    sample_rate_hz: int
    instruments: tuple[Instrument, ...]

    def of_role(self, *roles: str) -> tuple[Instrument, ...]:
        """The instruments of some roles (``piano``, ``electric_piano``, ``bass`` ...)."""
        return tuple(one for one in self.instruments if one.role in roles)

    def __getitem__(self, name: str) -> Instrument:
        return next(one for one in self.instruments if one.name == name)


def load_bank(folder: Path, *, split: str) -> Bank:
    """Read the instruments of one split; raises Complaint when the folder is no bank."""
    manifest = folder / "instruments.json"
    if not manifest.is_file():
        raise Complaint(f"{folder} holds no instruments.json; name the folder of a note bank")
    data = json.loads(manifest.read_text(encoding="utf-8"))
    instruments = [
        _instrument(name, entry, folder, data["slot_s"])
        for name, entry in data["instruments"].items()
        if entry["split"] == split
    ]
    return Bank(sample_rate_hz=data["sample_rate_hz"], instruments=tuple(instruments))


def _instrument(name: str, entry: dict, folder: Path, slot_s: float) -> Instrument:
    layers = [_layer(layer, folder, slot_s) for layer in entry["layers"]]
    return Instrument(
        name=name,
        role=entry["role"],
        split=entry["split"],
        source=entry["source"],
        licence=entry["licence"],
        layers=tuple(sorted(layers, key=lambda layer: layer.velocity)),
    )


def _layer(entry: dict, folder: Path, slot_s: float) -> Layer:
    sound, rate = soundfile.read(folder / entry["file"], dtype="float32")
    slot = round(slot_s * rate)
    zones = sorted(entry["zones"], key=lambda zone: zone["pitch"])
    notes = np.zeros((len(zones), slot), np.float32)
    for row, zone in zip(notes, zones, strict=True):
        start = round(zone["start_s"] * rate)
        part = sound[start : start + slot]
        row[: len(part)] = part
    pitches = np.array([zone["pitch"] for zone in zones])
    return Layer(velocity=entry["velocity"], pitches=pitches, notes=notes)
