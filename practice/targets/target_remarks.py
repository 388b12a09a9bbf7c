"""What a careful reader would say about a target: remarks, not refusals.

A degree that its chord does not have, an interval below the low limits in every octave
that still lies on the keys, a reach that no two hands have, a jump between voicings.
"""

from stackline.practice.targets.placing import best_places
from stackline.practice.targets.targets import Target, TargetChord
from stackline.theory.chords.degrees import pitch_class


def remarks(target: Target) -> tuple[str, ...]:
    """Sentences, empty where there is nothing to remark."""
    found = [words for chord in target.chords for words in _foreign(chord)]
    if target.has_stacks:
        found += list(best_places(target, 0).cautions)
    return tuple(found)


def _foreign(chord: TargetChord) -> list[str]:
    has = {pitch_class(degree) for degree in chord.row.degrees}
    strange = [degree for degree in chord.degrees if pitch_class(degree) not in has]
    return [f"{chord.name()}: the chord has no {degree}" for degree in strange]
