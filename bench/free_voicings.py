"""Voicings from no list: what a player's hands may do and no table of shapes foresees.

Half of them carry doublings (octaves, twelfths, double octaves), since doubled notes and
their absence are the hardest thing to hear. Every voicing can be played by two hands: at
most five notes and 16 semitones a hand (reaches: common practice).
"""

import numpy as np

from shared.units import HIGHEST_MIDI, LOWEST_MIDI

HAND_NOTES = 5
HAND_SPAN = 16
DOUBLING_INTERVALS = (12, 12, 12, 19, 24)  # octaves are the commonest doubling


def is_playable(pitches: tuple[int, ...]) -> bool:
    """Whether some split gives each hand at most five notes within a tenth or so."""
    rising = sorted(pitches)
    return any(
        _fits_hand(rising[:split]) and _fits_hand(rising[split:])
        for split in range(len(rising) + 1)
    )


def _fits_hand(pitches: list[int]) -> bool:
    return len(pitches) <= HAND_NOTES and (not pitches or pitches[-1] - pitches[0] <= HAND_SPAN)


def draw_free_voicing(
    rng: np.random.Generator, *, low: int = 36, high: int = 96
) -> tuple[int, ...]:
    """One playable voicing of 1 to 8 notes within `low`..`high`, rising MIDI pitches."""
    low, high = max(low, LOWEST_MIDI), min(high, HIGHEST_MIDI)
    makers = (_scattered, _doubled, _parallel_octaves, _single)
    chances = (0.40, 0.35, 0.15, 0.10)
    while True:
        maker = makers[rng.choice(len(makers), p=chances)]
        pitches = tuple(sorted({int(one) for one in maker(rng, low, high)}))
        if pitches[0] >= low and pitches[-1] <= high and is_playable(pitches):
            return pitches


def _scattered(rng: np.random.Generator, low: int, high: int) -> list[int]:
    """Random gaps of a second to a seventh upward, sometimes wider between the hands."""
    count = int(rng.integers(2, 9))
    gaps = rng.integers(1, 11, size=count - 1) if count < 6 else rng.integers(1, 7, size=count - 1)
    if count > 3 and rng.random() < 0.5:
        gaps[count // 2 - 1] += int(rng.integers(0, 12))
    span = int(gaps.sum())
    bottom = int(rng.integers(low, max(low + 1, high - span)))
    return [bottom, *(bottom + np.cumsum(gaps))]


def _doubled(rng: np.random.Generator, low: int, high: int) -> list[int]:
    """A small chord of which one to three notes sound again 12, 19 or 24 semitones away."""
    count = int(rng.integers(1, 5))
    gaps = rng.integers(2, 8, size=count - 1)
    bottom = int(rng.integers(low, max(low + 1, high - 24)))
    base = [bottom, *(bottom + np.cumsum(gaps))]
    for pitch in rng.permutation(base)[: rng.integers(1, 4)]:
        base.append(int(pitch) + int(rng.choice(DOUBLING_INTERVALS)))
    return base


def _parallel_octaves(rng: np.random.Generator, low: int, high: int) -> list[int]:
    """One or two notes in octaves, or the same shape in both hands an octave or two apart."""
    count = int(rng.integers(1, 5))
    gaps = rng.integers(2, 6, size=count - 1)
    bottom = int(rng.integers(low, max(low + 1, high - 30)))
    shape = [bottom, *(bottom + np.cumsum(gaps))]
    apart = 12 if shape[-1] - bottom < 12 and rng.random() < 0.6 else 24
    return shape + [pitch + apart for pitch in shape]


def _single(rng: np.random.Generator, low: int, high: int) -> list[int]:
    """One note alone, whose own partials must not be taken for doublings."""
    return [int(rng.integers(low, high + 1))]
