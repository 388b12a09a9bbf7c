"""The sound of some moments of a take, small enough to be kept, and one of them to be heard again.

What is kept is one MP4 of the stretches around the moments, one after the other, each stretch once;
beside it stands where in the take each begins and ends.
"""

import io
from collections.abc import Sequence
from dataclasses import replace

import av
import numpy as np

from stackline.report.sound.embedded_audio import RATES, EmbeddedAudio, embed
from stackline.shared.sound import Audio

PIECE_S, BEFORE_S = 4.0, 0.3  # seconds of a moment that are heard, and of them before it; ours
RATE = RATES[-1]  # the smallest: four seconds are 12 kB

Span = tuple[float, float]


def pack(audio: Audio, moments_s: Sequence[float]) -> tuple[bytes, tuple[Span, ...]]:
    """The sound around some moments, and the stretches of the take (seconds) that it is of.

    audio: of the take, at the sample rate of `RATE`. moments_s: rising, one at least.
    """
    spans: list[Span] = []
    for moment_s in moments_s:
        start_s = max(0.0, moment_s - BEFORE_S)
        end_s = min(start_s + PIECE_S, audio.duration_s)
        if spans and start_s <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(end_s, spans[-1][1]))
        elif end_s > start_s:
            spans.append((start_s, end_s))
    parts = [audio.samples[_at(a) : _at(b)] for a, b in spans]
    whole = np.concatenate([np.zeros(0, np.float32), *parts])
    return embed(replace(audio, samples=whole), RATE).data, tuple(spans)


def piece(data: bytes, spans: Sequence[Span], moment_s: float) -> EmbeddedAudio | None:
    """The sound of one moment out of what `pack` made; None where it is in no stretch."""
    before = 0
    for start_s, end_s in spans:
        if start_s <= moment_s < end_s:
            first = before + max(0, _at(moment_s - BEFORE_S) - _at(start_s))
            last = min(first + _at(PIECE_S), before + _at(end_s) - _at(start_s))
            samples = _decoded(data)[first:last]
            audio = Audio(
                name="piece", samples=samples, sample_rate_hz=RATE.sample_rate_hz, sha256=""
            )
            return embed(audio, RATE) if len(samples) else None
        before += _at(end_s) - _at(start_s)
    return None


def _at(time_s: float) -> int:
    return round(time_s * RATE.sample_rate_hz)


def _decoded(data: bytes) -> np.ndarray:
    with av.open(io.BytesIO(data), "r") as container:
        frames = [frame.to_ndarray()[0] for frame in container.decode(container.streams.audio[0])]
    return np.concatenate([np.zeros(0, np.float32), *frames]).astype(np.float32)
