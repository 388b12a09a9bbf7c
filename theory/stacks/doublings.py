"""Doublings: pitch classes that sound more than once in a stack."""

from collections.abc import Sequence

from stackline.shared.harmony import Degree, Doubling


def doublings(pitches: Sequence[int], degrees: Sequence[Degree]) -> tuple[Doubling, ...]:
    """One record for each doubled pitch class, in order of its lowest note.

    pitches: rising MIDI, each once; degrees: their names over the root.
    """
    by_class: dict[int, list[int]] = {}
    for pitch in pitches:
        by_class.setdefault(pitch % 12, []).append(pitch)
    names = dict(zip(reversed(pitches), reversed(degrees), strict=True))
    return tuple(
        Doubling(degree=names[same[0]], count=len(same), distance=same[-1] - same[0])
        for same in by_class.values()
        if len(same) > 1
    )
