"""How like a target chord a gesture is, in each of the twelve keys: 0 (not at all) to 1.

With a stack: pitch classes found, over all that were meant plus those that don't belong.
Keys kept down from before count where they are meant, and are not held against the player
where they are not, unless less than half of the chord was struck anew. The lowest and the
highest note agreeing adds a little, which tells apart chords of the same notes.

Without a stack: 1 for a chord in the symbol's frame (see `frames`), less for each guide tone that
is missing and each note that contradicts the symbol; a little less for each tension that the
symbol does not write, so that of two readings the plainer one wins. A note struck in the
place of a guide tone is hardly worse than the guide tone missing. One note alone says little.
"""

from collections.abc import Sequence

import numpy as np

from stackline.practice.finding.gestures import Gesture
from stackline.practice.targets.targets import Target, TargetChord
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.stacks.frames import asked, contradicting, lacking, stands_without

KEYS = 12  # transpositions of a target
END_WEIGHT = 0.06  # the lowest and the highest note, each
BARE = 0.9  # of the likeness of a fuller chord: all that is needed, and no more
LONE = 0.45  # of it, for one note struck alone
MISTAKE = 0.36  # likeness lost for each note that is missing or contradicts
STRANGE_BASS = 0.03  # where neither the root nor a guide tone lies lowest
HEAVIER = {1: 1.5, 2: 1.35, 3: 1.15}  # a mistake weighs more in a chord of few notes
REPLACED = 0.15  # of a mistake, for a guide tone that something else came for
SHELL_LACKS = 0.3  # of a mistake, for the guide tone that a shell or fourths do without
UNWRITTEN = 0.02  # for each tension that the symbol does not write


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
        self._root = chord.root_pc(key)
        heights = chord.heights
        self._has_stack = bool(heights)
        self._row = chord.row
        self._asked = [frozenset(pitch_class(d) for d in group) for group in asked(chord.row)]
        self._guides = frozenset(pitch_class(degree) for degree in chord.guide_tones)
        self._written = frozenset(chord.row.intervals)
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
        if not struck & self._needed:
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
        struck = gesture.struck
        counted = gesture.struck_classes
        if len(counted) == 1:
            counted |= gesture.held_classes
        over = {(pc - self._root) % 12 for pc in counted}
        sounding = over | {(pc - self._root) % 12 for pc in gesture.held_classes}
        kept = {pitch for pitch in gesture.held if (pitch - self._root) % 12 in sounding - over}
        lacks = [
            frozenset(pitch_class(one) for one in group)
            for group in lacking(self._row, sorted({*struck, *kept}), self._root)
        ]
        missing = float(len(lacks))
        if lacks and stands_without(struck, self._root, self._row):
            missing -= (1 - SHELL_LACKS) * sum(bool(group & self._guides) for group in lacks)
        foreign = len(contradicting(self._row, over))
        mistakes = max(missing, foreign) + REPLACED * min(missing, foreign)
        unwritten = len(over - self._written)
        heavier = HEAVIER.get(len(over), 1.0)
        score = 1.0 - MISTAKE * heavier * mistakes - UNWRITTEN * unwritten
        lowest = (struck[0] - self._root) % 12
        if lowest and not any(lowest in group for group in self._asked):
            score -= STRANGE_BASS
        few = {1: LONE, 2: BARE}.get(len(gesture.struck_classes), 1.0)
        return max(0.0, score) * few
