"""Recordings that are cut, overwritten, mislabelled, odd in rate or channels, or none at all."""

import random
import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from bench.spoiled.sound_things import ENDINGS, recording, struck


def spoiled_recording(folder: Path, rng: random.Random) -> list[str]:
    """A sound file after something happened to its bytes."""
    ending = rng.choice(ENDINGS)
    data = rng.choice(_ACCIDENTS)(recording(ending, folder), rng)
    path = folder / f"take.{rng.choice((ending, ending, ending, *ENDINGS))}"
    path.write_bytes(data)
    return ["transcribe", str(path), *_outputs(rng)]


def odd_wav(folder: Path, rng: random.Random) -> list[str]:
    """A wav whose header says strange things, or whose samples are strange."""
    path = folder / "take.wav"
    if rng.random() < 0.5:
        channels = rng.choice((1, 2, 3, 6, 17))
        sound = struck(60, 8_000)
        sound = np.stack([sound * rng.choice((0, 1, -1, 0.001)) for _ in range(channels)], axis=1)
        if rng.random() < 0.4:
            sound[rng.randrange(len(sound))] = rng.choice((np.nan, np.inf, 1e30, -1e7))
        rate_hz = rng.choice((1, 900, 8_000, 8_000, 11_025, 192_000, 2_000_000))
        soundfile.write(path, sound[: 8 * rate_hz + 4000], rate_hz, subtype="FLOAT")
    else:
        path.write_bytes(_odd_header(rng))
    return ["transcribe", str(path), *_outputs(rng)]


def _outputs(rng: random.Random) -> list[str]:
    formats = rng.choice(("json,midi", "json,midi", "text,csv,lab", "musicxml,score", "page"))
    return ["-o", "out", "--formats", formats, "--json", "out/facts.json"]


def _odd_header(rng: random.Random) -> bytes:
    sizes = (0, 1, 7, 2**31, 2**32 - 1, 40_000)
    pick = rng.choice
    form = struct.pack(
        "<HHIIHH",
        pick((1, 1, 3, 0xFFFE, 0, 85)),
        pick((1, 1, 2, 0, 65535)),
        pick((8000, 8000, 0, 1, 2**32 - 1)),
        pick((16000, 0, 2**32 - 1)),
        pick((2, 2, 0, 65535)),
        pick((16, 16, 8, 24, 0, 1, 65535)),
    )
    body = (np.sin(np.arange(20_000) / 9) * 9000).astype("<i2").tobytes()
    said = pick((len(body), len(body), *sizes))
    chunks = b"fmt " + struct.pack("<I", pick((16, 16, 16, *sizes))) + form
    return (
        pick((b"RIFF", b"RIFF", b"RF64", b"RIFX"))
        + struct.pack("<I", pick((len(body) + 36, *sizes)))
        + b"WAVE"
        + chunks
        + b"data"
        + struct.pack("<I", said)
        + body
    )


def _cut(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data))]


def _beheaded(data: bytes, rng: random.Random) -> bytes:
    return data[rng.randrange(len(data)) :]


def _overwritten(data: bytes, rng: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(rng.choice((1, 3, 30))):
        at, count = rng.randrange(len(data)), rng.choice((1, 4, 100, 2000))
        part = rng.choice((rng.randbytes(count), bytes(count), b"\xff" * count))
        changed[at : at + count] = part[: len(data) - at]
    return bytes(changed)


def _head_overwritten(data: bytes, rng: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(rng.choice((1, 2, 8))):
        changed[rng.randrange(min(400, len(data)))] = rng.randrange(256)
    return bytes(changed)


def _behind(data: bytes, rng: random.Random) -> bytes:
    return data + rng.choice((b"TAG" + bytes(125), rng.randbytes(5000), bytes(5000), data))


def _missing_middle(data: bytes, rng: random.Random) -> bytes:
    a, b = sorted(rng.randrange(len(data)) for _ in range(2))
    return data[:a] + data[b:]


def _nothing_of_it(data: bytes, rng: random.Random) -> bytes:
    return rng.choice(
        (rng.randbytes(3000), bytes(50_000), b"Dm9 | G13 | C6/9\n" * 99, b"\x00", data[:8])
    )


_ACCIDENTS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _cut,
    _cut,
    _beheaded,
    _overwritten,
    _overwritten,
    _head_overwritten,
    _behind,
    _missing_middle,
    _nothing_of_it,
)
