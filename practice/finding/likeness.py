"""How like a target chord a gesture is, in each of the twelve keys: 0 (not at all) to 1.

With a stack: pitch classes found, over all that were meant plus those that don't belong.
Keys kept down from before count where they are meant, and are not held against the player
where they are not, unless less than half of the chord was struck anew. The lowest and the
highest note agreeing adds a little, which tells apart chords of the same notes.

Without a stack: half for guide tones and written alterations, half for the share of struck
notes that belong to the chord (of all that sounds, where one note was struck); fewer than
three notes count for less.
"""

from collections.abc import Sequence

import numpy as np

from stackline.practice.finding.gestures import Gesture
from stackline.practice.targets.targets import Target, TargetChord

KEYS = 12
END_WEIGHT = 0.06  # the lowest and the highest note, each
ENOUGH_NOTES = 3
BARE = 0.9  # of the likeness of a fuller chord: all that is needed, and no more


def likeness(gestures: Sequence[Gesture], target: Target) -> np.ndarray:
    """Array (gestures, keys, chords): how like chord j of the target in key k each is."""
    found = np.zeros((len(gestures), KEYS, len(target.chords)))
    for j, chord in enumerate(target.chords):
        for k in range(KEYS):
            like = _Liker(chord, k)
            for i, gesture in enumerate(gestures):
                found[i, k, j] = like(gesture)
    return found


class _Liker:
    """One chord in one key, ready to be compared with many gestures."""

    def __init__(self, chord: TargetChord, key: int) -> None:
        self._needed = frozenset((pc + key) % 12 for pc in chord.needed_classes)
        self._allowed = frozenset((pc + key) % 12 for pc in chord.allowed_classes)
        self._root = chord.root_pc(key)
        heights = chord.heights
        self._has_stack = bool(heights)
        self._ends = (
            ((heights[0] + self._root) % 12, (heights[-1] + self._root) % 12) if heights else None
        )

    def __call__(self, gesture: Gesture) -> float:
        if self._has_stack:
            return self._to_stack(gesture)
        return self._to_chord(gesture)

    def _to_stack(self, gesture: Gesture) -> float:
        struck = gesture.struck_classes
        helped = (struck | gesture.held_classes) & self._needed
        if not struck & self._allowed:
            return 0.0
        counted = struck
        if 2 * len(struck & self._needed) < len(self._needed):
            counted = struck | gesture.held_classes  # hardly a new chord: all that sounds
        foreign = len(counted - self._needed)
        score = len(helped) / (len(self._needed) + foreign)
        ends = self._ends or (0, 0)
        agreeing = (gesture.struck[0] % 12 == ends[0]) + (gesture.struck[-1] % 12 == ends[1])
        return min(1.0, score * (1 - 2 * END_WEIGHT) + END_WEIGHT * agreeing)

    def _to_chord(self, gesture: Gesture) -> float:
        struck = gesture.struck_classes
        helped = (struck | gesture.held_classes) & self._needed
        counted = struck if len(struck) > 1 else struck | gesture.held_classes
        belonging = len(counted & self._allowed) / len(counted)
        sounding = struck | (gesture.held_classes & self._allowed)
        enough = min(1.0, len(sounding) / ENOUGH_NOTES)
        if helped == self._needed:
            enough = max(enough, BARE)
        return (0.5 * len(helped) / len(self._needed) + 0.5 * belonging) * enough
