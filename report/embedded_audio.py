"""The recording made small enough to travel inside a page.

MP3, one channel: the one compressed format that every browser in use plays, with a
header that lets players cut the encoder's delay, so that times on the page and in the
sound agree. The bit rate is the highest that keeps the whole under `BUDGET_BYTES`, and
the page stays openable however long the take; a recording that does not fit even at the
lowest rate is not embedded, and the page then asks for the file. Decoded as an
ear's sound is (`listen.decode`) and encoded block by block: memory does not grow with length.
"""

import base64
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np

from listen.decode import decode
from shared.sound import Samples

MIME = "audio/mpeg"
BUDGET_BYTES = 2_000_000  # base64 adds a third: 2.7 MB of a page that should stay under 6
LARGEST_BYTES = 15_000_000  # beyond this a page is no longer a page
RATES = (  # kilobits a second, and the sample rate that suits it (MPEG-1 layer III, 2 below)
    (96, 44100),
    (64, 32000),
    (48, 24000),
    (32, 22050),
    (24, 16000),
)
LAME_QUALITY = "7"  # 0 best .. 9 fastest; 5 takes 1.6 times as long
BLOCK = 65_536  # samples
FULL_SCALE = 0.97  # a mix that goes over 1.0 is brought down to this, others are left alone


@dataclass(frozen=True, kw_only=True)
class EmbeddedAudio:
    """Sound for a page: its MIME type and its bytes."""

    mime: str
    data: bytes

    @property
    def uri(self) -> str:
        """The sound as a ``data:`` URI."""
        return f"data:{self.mime};base64,{base64.b64encode(self.data).decode('ascii')}"


def rate_for(duration_s: float) -> tuple[int, int] | None:
    """Kilobits a second and sample rate in Hz for a recording; None where none fits."""
    for kilobits, sample_rate_hz in RATES:
        if duration_s * kilobits * 125 <= BUDGET_BYTES:
            return kilobits, sample_rate_hz
    kilobits, sample_rate_hz = RATES[-1]
    return (kilobits, sample_rate_hz) if duration_s * kilobits * 125 <= LARGEST_BYTES else None


def embed(path: Path, duration_s: float) -> EmbeddedAudio | None:
    """The recording at `path` as a small MP3; None where it is too long to embed.

    Raises Complaint where the file cannot be read as sound.
    """
    rate = rate_for(duration_s)
    if rate is None:
        return None
    kilobits, sample_rate_hz = rate
    return EmbeddedAudio(mime=MIME, data=_encode(path, kilobits, sample_rate_hz))


def _encode(path: Path, kilobits: int, sample_rate_hz: int) -> bytes:
    samples = decode(path, sample_rate_hz).samples
    gain = _gain(samples)
    out = io.BytesIO()
    with av.open(out, "w", format="mp3") as sink:
        stream = sink.add_stream("libmp3lame", rate=sample_rate_hz)
        assert isinstance(stream, av.AudioStream)
        stream.bit_rate = kilobits * 1000
        stream.layout = "mono"
        stream.format = "fltp"
        stream.options = {"compression_level": LAME_QUALITY}
        for block in in_blocks(samples):
            frame = av.AudioFrame.from_ndarray((block * gain)[np.newaxis], "fltp", "mono")
            frame.sample_rate = sample_rate_hz
            sink.mux(stream.encode(frame))
        sink.mux(stream.encode(None))
    return out.getvalue()


def _gain(samples: Samples) -> float:
    """1, or less where the sound would clip."""
    peak = max((float(np.abs(block).max(initial=0.0)) for block in in_blocks(samples)), default=0.0)
    return FULL_SCALE / peak if peak > 1.0 else 1.0


def in_blocks(samples: Samples) -> Iterator[np.ndarray]:
    """Float32 blocks in order, long enough that a call for each costs little."""
    for start in range(0, len(samples), BLOCK):
        yield samples[start : start + BLOCK]
