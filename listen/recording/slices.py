"""Stretches of a recording as numbers: cut out beyond its ends too, and how loud its blocks are.

Samples may lie on disk: they are only ever sliced.
"""

import numpy as np

from stackline.shared.sound import Samples

_AT_ONCE = 600  # blocks read at a time


def stretch(samples: Samples, start: int, size: int) -> np.ndarray:
    """`size` samples from `start`, zeros outside the recording: (size,)."""
    found = samples[max(0, start) : max(0, start + size)]
    before = min(size, max(0, -start))
    return np.pad(found, (before, size - before - len(found)))


def block_powers(samples: Samples, block: int) -> np.ndarray:
    """Mean square of each whole block of `block` samples, (n,)."""
    step, powers = _AT_ONCE * block, [np.zeros(0, np.float32)]
    for start in range(0, len(samples), step):
        part = samples[start : start + step]
        whole = part[: len(part) // block * block].reshape(-1, block)
        powers.append(np.mean(np.square(whole), axis=1))
    return np.concatenate(powers)
