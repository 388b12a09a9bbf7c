"""The sound behind the notes: how strong each semitone is, moment by moment, as a small PNG.

Short-time Fourier transform with a Hann window of `WINDOW` samples at `RATE_HZ` (0.37 s, a
main lobe of 11 Hz: semitones part from about A2 up; below, neighbours blur). A row is a
semitone, a column a moment; the strength of a semitone is the largest bin within half a
semitone of it (or the nearest bin), in decibels below the loudest, in 16 steps. The PNG
(ISO/IEC 15948) is one ink with 16 strengths of alpha, so that it lies on any paper.
The recording is read block by block; nothing of its length is held but the strengths, for
every semitone that a chart may show, so that they can be had before the notes are known.
"""

import base64
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import soxr

from stackline.report.sound.embedded_audio import in_blocks
from stackline.shared.sound import Audio
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI, midi_to_hz

RATE_HZ = 11025
WINDOW = 4096
COLUMNS_PER_S = 16
MOST_COLUMNS = 16_000  # a longer recording gets fewer columns a second
RANGE_DB = 42.0
INK = (36, 33, 28)  # red, green, blue
DARKEST_ALPHA = 110  # of 255: notes stay legible above it (ours)
STEPS = 16  # shades (ours)
CHUNK = 128  # columns worked on at a time
AIR = 6  # semitones beyond a piano's keys that a chart may show
LOWEST, HIGHEST = LOWEST_MIDI - AIR, HIGHEST_MIDI + AIR


@dataclass(frozen=True, kw_only=True, eq=False)
class Strengths:
    """How strong each semitone is, linear. levels: shape (columns, HIGHEST - LOWEST + 1)."""

    levels: np.ndarray
    columns_per_s: float


@dataclass(frozen=True, kw_only=True)
class Spectrogram:
    """A picture of semitones over time.

    low, high: MIDI pitches of the lowest and highest row. columns: how many moments,
    `columns_per_s` a second; column i is centred on (i + 0.5) / columns_per_s seconds.
    """

    png: bytes
    low: int
    high: int
    columns: int
    columns_per_s: float

    @property
    def rows(self) -> int:
        """Height in pixels: one a semitone."""
        return self.high - self.low + 1

    @property
    def uri(self) -> str:
        """The picture as a ``data:`` URI."""
        return f"data:image/png;base64,{base64.b64encode(self.png).decode('ascii')}"


def strengths(audio: Audio) -> Strengths:
    """The strengths of a recording of any sample rate from `RATE_HZ` up."""
    columns = max(min(round(audio.duration_s * COLUMNS_PER_S), MOST_COLUMNS), 1)
    per_s = columns / audio.duration_s if audio.duration_s > 0 else float(COLUMNS_PER_S)
    levels = np.zeros((columns, HIGHEST - LOWEST + 1), dtype=np.float32)
    bins = [_bins(midi) for midi in range(LOWEST, HIGHEST + 1)]
    window = np.hanning(WINDOW).astype(np.float32)
    for first, frames in _frames(audio, columns, per_s):
        spectrum = np.abs(np.fft.rfft(frames * window, axis=1))
        for row, (start, end) in enumerate(bins):
            levels[first : first + len(frames), row] = spectrum[:, start:end].max(axis=1)
    return Strengths(levels=levels, columns_per_s=per_s)


def picture(found: Strengths, low: int, high: int) -> Spectrogram:
    """The picture between two pitches, both within `LOWEST` and `HIGHEST`."""
    part = found.levels[:, low - LOWEST : high - LOWEST + 1]
    return Spectrogram(
        png=_png(_steps(part)),
        low=low,
        high=high,
        columns=len(part),
        columns_per_s=found.columns_per_s,
    )


def _bins(midi: int) -> tuple[int, int]:
    """First and past-the-last Fourier bin of a semitone, at least one."""
    hz_per_bin = RATE_HZ / WINDOW
    highest = WINDOW // 2
    start = int(np.ceil(midi_to_hz(midi - 0.5) / hz_per_bin))
    end = int(np.ceil(midi_to_hz(midi + 0.5) / hz_per_bin))
    if end <= start:
        start = round(midi_to_hz(midi) / hz_per_bin)
        end = start + 1
    return min(start, highest), min(max(end, start + 1), highest + 1)


def _slow_blocks(audio: Audio) -> Iterator[np.ndarray]:
    """The recording at `RATE_HZ`, block by block."""
    if audio.sample_rate_hz == RATE_HZ:
        yield from in_blocks(audio.samples)
        return
    stream = soxr.ResampleStream(audio.sample_rate_hz, RATE_HZ, 1, dtype="float32", quality="MQ")
    for block in in_blocks(audio.samples):
        yield stream.resample_chunk(block)
    yield stream.resample_chunk(np.zeros(0, np.float32), last=True)


def _frames(audio: Audio, columns: int, per_s: float) -> Iterator[tuple[int, np.ndarray]]:
    """Windows of samples, some columns at a time, with the index of the first.

    Column i is centred on its moment; silence stands before the start and after the end.
    """
    starts = np.round((np.arange(columns) + 0.5) / per_s * RATE_HZ).astype(int)
    held = np.zeros(WINDOW // 2, dtype=np.float32)  # held[0] is sample -WINDOW / 2
    gone, done = 0, 0  # samples dropped from the front of `held`; columns given out
    blocks = _slow_blocks(audio)
    while done < columns:
        chunk = starts[done : done + CHUNK]
        pieces, length, ended = [held], len(held), False
        while not ended and gone + length < chunk[-1] + WINDOW:
            block = next(blocks, None)
            ended = block is None
            pieces.append(np.zeros(chunk[-1] + WINDOW - gone - length) if block is None else block)
            length += len(pieces[-1])
        held = np.concatenate(pieces).astype(np.float32)
        yield done, np.stack([held[start - gone : start - gone + WINDOW] for start in chunk])
        done += len(chunk)
        if done < columns:
            keep = starts[done] - gone
            held, gone = held[keep:], gone + keep


def _steps(levels: np.ndarray) -> np.ndarray:
    """Strengths 0..15, (rows, columns), highest pitch first; all 0 for silence."""
    loudest = float(levels.max(initial=0.0))
    if loudest <= 0.0:
        return np.zeros(levels.T.shape, dtype=np.uint8)
    decibels = 20 * np.log10(np.maximum(levels, 1e-9) / loudest)
    share = np.clip(1 + decibels / RANGE_DB, 0.0, 1.0)
    return np.round(share * (STEPS - 1)).astype(np.uint8).T[::-1]


def _png(steps: np.ndarray) -> bytes:
    """A palette PNG of 4 bits a pixel, with the alpha of each step."""
    height, width = steps.shape
    padded = np.pad(steps, ((0, 0), (0, width % 2)))
    packed = (padded[:, 0::2] << 4) | padded[:, 1::2]
    lines = np.hstack([np.zeros((height, 1), dtype=np.uint8), packed])  # filter 0 a line
    alphas = bytes(round(DARKEST_ALPHA * i / (STEPS - 1)) for i in range(STEPS))
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 4, 3, 0, 0, 0)),
            _chunk(b"PLTE", bytes(INK) * STEPS),
            _chunk(b"tRNS", alphas),
            _chunk(b"IDAT", zlib.compress(lines.tobytes(), 9)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, data: bytes) -> bytes:
    """A PNG chunk: length, kind, data, CRC-32 of kind and data."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
