"""Which key a voicing is in, as far as a cadence says so.

A dominant followed by a major or minor chord a fifth below sets the key of both, and of a
minor or half-diminished chord on the II directly before. Everything else has no key here:
an index must not guess.
"""

from collections.abc import Sequence

from stackline.shared.harmony import Voicing
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of

_TONICS = frozenset({"major", "minor"})
_TWOS = frozenset({"minor", "half-diminished"})
_FIVES = frozenset({"dominant", "suspended"})


def cadence_keys(voicings: Sequence[Voicing]) -> tuple[int | None, ...]:
    """The tonic's pitch class for each voicing, None without a cadence."""
    roots = [pitch_class_of(one.chord.symbol.root) for one in voicings]
    families = [quality(one.chord.symbol.quality).family for one in voicings]
    keys: list[int | None] = [None] * len(voicings)
    runs = _runs(list(zip(roots, families, strict=True)))
    for n, (start, end) in enumerate(runs[:-1]):
        after = runs[n + 1]
        falls = (roots[after[0]] - roots[start]) % 12 == 5
        if not (families[start] in _FIVES and families[after[0]] in _TONICS and falls):
            continue
        key = roots[after[0]]
        keys[start : after[1]] = [key] * (after[1] - start)
        before = runs[n - 1] if n else None
        if before and families[before[0]] in _TWOS and (roots[before[0]] - key) % 12 == 2:
            keys[before[0] : end] = [key] * (end - before[0])
    return tuple(keys)


def _runs(chords: Sequence[tuple[int, str]]) -> list[tuple[int, int]]:
    """Start and end of each stretch of one root and family."""
    runs: list[tuple[int, int]] = []
    for i, chord in enumerate(chords):
        if runs and chords[runs[-1][0]] == chord:
            runs[-1] = (runs[-1][0], i + 1)
        else:
            runs.append((i, i + 1))
    return runs
