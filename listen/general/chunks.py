"""Consecutive chunks of activations, each with some of its neighbours around it.

A decision that looks up to `MARGIN_S` to either side is then the same however a recording
is cut into chunks.
"""

import math
from collections.abc import Iterable, Iterator

import numpy as np

from stackline.shared.sound import Activations
from stackline.shared.units import N_KEYS

MARGIN_S = 1.0


def with_margins(chunks: Iterable[Activations]) -> Iterator[tuple[Activations, slice]]:
    """Windows that overlap by two margins, and in each the rows that are its own.

    The own rows of all windows together are the rows of all chunks, in order. Beyond the
    recording stand zeros. Raises ValueError for a gap or a change of frame rate.
    """
    held: Activations | None = None
    for chunk in chunks:
        margin = _margin(chunk)
        if held is None:
            held = _joined(_silence(chunk, margin, chunk.first_frame - margin), chunk)
        else:
            _check_follows(held, chunk)
            held = _joined(held, chunk)
        stop = len(held.onset) - margin
        if stop > margin:
            yield held, slice(margin, stop)
            held = _from_row(held, stop - margin)
    if held is not None:
        margin, length = _margin(held), len(held.onset)
        end = _silence(held, margin, held.first_frame + length)
        yield _joined(held, end), slice(margin, length)


def _margin(activations: Activations) -> int:
    return math.ceil(MARGIN_S * activations.frame_rate_hz)


def _check_follows(held: Activations, chunk: Activations) -> None:
    expected = held.first_frame + len(held.onset)
    if chunk.first_frame != expected:
        raise ValueError(f"chunks must follow each other: {chunk.first_frame} after {expected}")
    if chunk.frame_rate_hz != held.frame_rate_hz:
        raise ValueError(f"chunks must share a frame rate, got {chunk.frame_rate_hz} Hz")


def _silence(like: Activations, rows: int, first_frame: int) -> Activations:
    zeros = np.zeros((rows, N_KEYS), np.float32)
    return Activations(
        onset=zeros,
        frame=zeros,
        frame_rate_hz=like.frame_rate_hz,
        first_frame=first_frame,
        nudge_s=None if like.nudge_s is None else zeros,
    )


def _joined(one: Activations, two: Activations) -> Activations:
    nudge_s = None
    if one.nudge_s is not None and two.nudge_s is not None:
        nudge_s = np.concatenate((one.nudge_s, two.nudge_s))
    return Activations(
        onset=np.concatenate((one.onset, two.onset)),
        frame=np.concatenate((one.frame, two.frame)),
        frame_rate_hz=one.frame_rate_hz,
        first_frame=one.first_frame,
        nudge_s=nudge_s,
    )


def _from_row(one: Activations, start: int) -> Activations:
    return Activations(
        onset=one.onset[start:],
        frame=one.frame[start:],
        frame_rate_hz=one.frame_rate_hz,
        first_frame=one.first_frame + start,
        nudge_s=None if one.nudge_s is None else one.nudge_s[start:],
    )
