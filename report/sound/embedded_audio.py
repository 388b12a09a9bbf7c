"""The recording made small enough to travel inside a page.

AAC in an MP4 file, one channel: current browsers play it, FFmpeg's encoder is quick, and the
file's edit list (ISO/IEC 14496-12) tells players to cut the encoder's delay, so that times on the
page and in the sound agree. A browser without AAC gets the page's own button to open the
recording. The bit rate is the highest that keeps the whole under `BUDGET_BYTES`, and the page
stays openable however long the take; a recording that does not fit even at the lowest rate is not
embedded, and the page then asks for the file. Encoded block by block: memory does not grow with
length.

Chosen by measuring five minutes of piano at 48 kbit/s: 0.6 s, signal to noise 43 dB; LAME's MP3
takes 1.2 s and has 26 dB. Opus is as quick, but older Safari does not play it.
"""

import base64
import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import av
import numpy as np

from stackline.listen.ear import Progress, silent
from stackline.shared.sound import Audio, Samples

MIME = "audio/mp4"
BUDGET_BYTES = 2_000_000  # base64 adds a third: 2.7 MB of a page that should stay under 6
LARGEST_BYTES = 15_000_000  # beyond this a page is no longer a page
CODER = "fast"  # the other, twoloop, takes twice as long and is worse on piano
SHAPING = "0"  # temporal noise shaping: a tenth of the work, no better on piano (36.1 dB without)
BLOCK = 65_536  # samples
FULL_SCALE = 0.97  # a mix that goes over 1.0 is brought down to this, others are left alone


class Rate(NamedTuple):
    """Kilobits a second, and the sample rate that suits it."""

    kilobits: int
    sample_rate_hz: int


# Kilobits and samples a second, the best first (ours).
RATES = (
    Rate(96, 44100),
    Rate(64, 32000),
    Rate(48, 24000),
    Rate(32, 22050),
    Rate(24, 16000),
)


@dataclass(frozen=True, kw_only=True)
class EmbeddedAudio:
    """Sound for a page: its MIME type and its bytes."""

    mime: str
    data: bytes

    @property
    def uri(self) -> str:
        """The sound as a ``data:`` URI."""
        return f"data:{self.mime};base64,{base64.b64encode(self.data).decode('ascii')}"


def rate_for(duration_s: float) -> Rate | None:
    """The rate for a recording of some length; None where none fits."""
    for rate in RATES:
        if duration_s * rate.kilobits * 125 <= BUDGET_BYTES:
            return rate
    return RATES[-1] if duration_s * RATES[-1].kilobits * 125 <= LARGEST_BYTES else None


def embed(audio: Audio, rate: Rate, progress: Progress = silent) -> EmbeddedAudio:
    """A recording, decoded at the rate's own sample rate, as a small MP4.

    progress: called after each block.
    """
    gain = _gain(audio.samples)
    out = io.BytesIO()
    with av.open(out, "w", format="mp4") as sink:
        stream = sink.add_stream("aac", rate=rate.sample_rate_hz)
        assert isinstance(stream, av.AudioStream)
        stream.bit_rate = rate.kilobits * 1000
        stream.layout = "mono"
        stream.format = "fltp"
        stream.options = {"aac_coder": CODER, "aac_tns": SHAPING}
        done = 0
        for block in in_blocks(audio.samples):
            frame = av.AudioFrame.from_ndarray((block * gain)[np.newaxis], "fltp", "mono")
            frame.sample_rate = rate.sample_rate_hz
            frame.pts = done  # without it the edit list would not cut the delay
            sink.mux(stream.encode(frame))
            done += len(block)
            progress("making the sound small", done / len(audio.samples))
        sink.mux(stream.encode(None))
    return EmbeddedAudio(mime=MIME, data=out.getvalue())


def _gain(samples: Samples) -> float:
    """1, or less where the sound would clip."""
    peak = max((float(np.abs(block).max(initial=0.0)) for block in in_blocks(samples)), default=0.0)
    return FULL_SCALE / peak if peak > 1.0 else 1.0


def in_blocks(samples: Samples) -> Iterator[np.ndarray]:
    """Float32 blocks (n,) in order, long enough that a call for each costs little."""
    for start in range(0, len(samples), BLOCK):
        yield samples[start : start + BLOCK]
