"""Chords to train on: voicings from the table of common shapes, and ones from no list.

An ear that learns only common shapes learns to expect them, and then hears them where they
are not. So most chords come from no list: 1 to 9 notes anywhere within two hands, and on
purpose full of what is hard to hear: a note an octave, a twelfth, a fifth or two octaves
above another, whose partials all fall on partials of the lower note, and the same chords
without it.
"""

import numpy as np

from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from stackline.theory.stacks.shapes import realise, shapes

DOUBLINGS = (12, 12, 12, 12, 19, 19, 24, 24, 7, 7, 28, 31, 36, 5, 4)
"""Semitones above a struck note at which another is put; the frequent ones stand oftener."""

_COUNTS = np.array([0.10, 0.14, 0.18, 0.20, 0.16, 0.11, 0.07, 0.04])  # of 1 to 8 notes
_COUNTS = _COUNTS / _COUNTS.sum()

Keys = tuple[int, ...]


def listed(rng: np.random.Generator) -> Keys:
    """A common shape in any key and register; sometimes with a root below or a doubled top."""
    table = shapes()
    shape = table[rng.integers(len(table))]
    lowest = int(rng.integers(34, 60)) if rng.random() < 0.85 else int(rng.integers(24, 72))
    span = shape.semitones[-1] - shape.semitones[0]
    lowest = min(lowest, HIGHEST_MIDI - 11 - span)  # so that it ends on the keyboard in any key
    keys = set(realise(shape, int(rng.integers(12)), lowest))
    bottom, top = min(keys), max(keys)
    if rng.random() < 0.12:
        keys.add(bottom - int(rng.choice([7, 10, 12, 15, 17, 19, 24])))
    if rng.random() < 0.15:
        keys.add(top + 12 if rng.random() < 0.6 else top - 12)
    if rng.random() < 0.08 and len(keys) > 3:
        keys.discard(sorted(keys)[int(rng.integers(len(keys)))])
    return _on_the_keys(keys)


def free(rng: np.random.Generator) -> Keys:
    """A chord from no list."""
    count = 1 + int(rng.choice(len(_COUNTS), p=_COUNTS))
    kind = rng.random()
    if kind < 0.30:
        keys = _scattered(rng, count)
    elif kind < 0.55:
        keys = _two_hands(rng, count)
    elif kind < 0.75:
        keys = _in_a_scale(rng, count)
    else:
        keys = _tower(rng, count)
    if rng.random() < 0.5:
        keys |= {_doubled(rng, keys) for _ in range(int(rng.integers(1, 4)))}
    return _on_the_keys(keys)


def moved(rng: np.random.Generator, keys: Keys) -> Keys:
    """What often follows a chord: itself, itself a step away, or itself but for one note."""
    kind = rng.random()
    if kind < 0.40:
        return keys
    if kind < 0.62:
        step = int(rng.choice([-2, -1, 1, 2]))
        return _on_the_keys({key + step for key in keys})
    changed = set(keys)
    if kind < 0.78:
        changed.add(_doubled(rng, changed))
    elif kind < 0.90 and len(keys) > 1:
        changed.discard(keys[int(rng.integers(len(keys)))])
    else:
        changed = {key + int(rng.integers(-2, 3)) for key in keys}
    return _on_the_keys(changed)


def _centre(rng: np.random.Generator) -> float:
    """Where on the keyboard: mostly its middle, sometimes anywhere."""
    return rng.normal(58, 9) if rng.random() < 0.8 else rng.uniform(LOWEST_MIDI, HIGHEST_MIDI)


def _scattered(rng: np.random.Generator, count: int) -> set[int]:
    centre, spread = _centre(rng), rng.uniform(3, 16)
    return {round(rng.normal(centre, spread)) for _ in range(count)}


def _two_hands(rng: np.random.Generator, count: int) -> set[int]:
    """Each hand's notes within a tenth."""
    left = int(rng.normal(48, 7))
    right = left + int(rng.integers(6, 30))
    in_left = int(rng.integers(0, count + 1))
    keys = {left + int(rng.integers(0, 17)) for _ in range(in_left)}
    return keys | {right + int(rng.integers(0, 17)) for _ in range(count - in_left)}


def _in_a_scale(rng: np.random.Generator, count: int) -> set[int]:
    """Degrees of a scale in one of its stackings: seconds, thirds, fourths, mixed."""
    scale = ([0, 2, 4, 5, 7, 9, 11], [0, 2, 3, 5, 7, 9, 11], [0, 1, 3, 4, 6, 7, 9, 10],
             [0, 2, 4, 6, 8, 10], list(range(12)))[int(rng.integers(5))]  # fmt: skip
    root, place = int(rng.normal(42, 7)), int(rng.integers(0, 10))
    stacking = int(rng.integers(0, 4))
    keys = set()
    for _ in range(count):
        octave, degree = divmod(place, len(scale))
        keys.add(root + 12 * octave + scale[degree])
        place += int(rng.integers(1, 5)) if stacking == 3 else stacking + 1
    return keys


def _tower(rng: np.random.Generator, count: int) -> set[int]:
    """One note with others over it that hide among its partials."""
    keys = {round(_centre(rng) - 8)}
    while len(keys) < min(count, 6) and rng.random() < 0.95:
        keys.add(_doubled(rng, keys))
        if rng.random() < 0.3:
            keys.add(min(keys) + int(rng.integers(1, 30)))
    return keys


def _doubled(rng: np.random.Generator, keys: set[int]) -> int:
    """A key that hides behind one of these."""
    base = sorted(keys)[int(rng.integers(len(keys)))]
    step = DOUBLINGS[int(rng.integers(len(DOUBLINGS)))]
    return base + step if rng.random() < 0.8 else base - step


def _on_the_keys(keys: set[int]) -> Keys:
    """Only what the piano has, low to high, no more than ten fingers; never empty."""
    found = sorted(key for key in keys if LOWEST_MIDI <= key <= HIGHEST_MIDI)
    return tuple(found[:10]) or (60,)
