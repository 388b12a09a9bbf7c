"""Chords as given: voicings explained against the changes, instead of guessed.

The symbol is the one on paper. What the notes would be called by themselves stands among
the alternatives where it differs, with the name of the substitution. The confidence weighs
the chord on paper (GIVEN_PRIOR) against everything else that the notes could be.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from stackline.shared.harmony import Alternative, ChordSpan, ChordSymbol
from stackline.shared.notes import BeatGrid
from stackline.theory.chords.qualities import FAMILIES, quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.given.alignment import Placed, align
from stackline.theory.given.substitutions import name_substitution, shared_guides
from stackline.theory.labelling.labeller import family_scores, note_scores
from stackline.theory.sheet.changes import Changes
from stackline.theory.sounding import Sounding

GIVEN_PRIOR = 0.9


def given_spans(
    steps: Sequence[Sounding],
    heard: Sequence[ChordSpan | None],
    grid: BeatGrid,
    changes: Changes,
    end_s: float,
) -> list[ChordSpan | None]:
    """One span per step from the changes; where they rest (N.C.), the heard one stays."""
    scores = family_scores(steps)
    placed = align(steps, note_scores(steps), grid, changes, end_s)
    spans: list[ChordSpan | None] = []
    for i, (step, span) in enumerate(zip(steps, heard, strict=True)):
        symbol = placed[i].chord.symbol
        if span is None or symbol is None:
            spans.append(span)
        else:
            spans.append(_span(step, span, symbol, placed[i], scores[i]))
    return spans


def _span(
    step: Sounding, heard: ChordSpan, symbol: ChordSymbol, place: Placed, scores: np.ndarray
) -> ChordSpan:
    classes = frozenset(pitch % 12 for pitch in step.pitches)
    own = Alternative(
        symbol=heard.symbol,
        confidence=heard.confidence,
        reason=_beside(symbol, heard.symbol, classes),
    )
    differs = not _same(symbol, heard.symbol)
    others = tuple(one for one in heard.alternatives if not _same(one.symbol, symbol))
    return ChordSpan(
        start_s=place.start_s,
        end_s=place.end_s,
        symbol=symbol,
        source="changes",
        confidence=_confidence(symbol, scores),
        alternatives=((own,) if differs else ()) + tuple(_unnamed(one, symbol) for one in others),
    )


def _same(one: ChordSymbol, two: ChordSymbol) -> bool:
    return (
        pitch_class_of(one.root) == pitch_class_of(two.root)
        and quality(one.quality).family == quality(two.quality).family
    )


def _unnamed(one: Alternative, given: ChordSymbol) -> Alternative:
    """An alternative of the heard reading, under a chord that paper has decided."""
    name = name_substitution(given, one.symbol)
    words = f": {name}, for {given.text}" if name else ""
    return replace(
        one, reason=f"without the changes the notes could also be {one.symbol.text}{words}"
    )


def _beside(given: ChordSymbol, heard: ChordSymbol, classes: frozenset[int]) -> str:
    """What the notes by themselves are to the chord on paper."""
    name = name_substitution(given, heard)
    if name is not None:
        return f"by themselves the notes are {heard.text}: {name}, for {given.text}"
    if shared_guides(given, classes):
        return f"by themselves the notes are {heard.text}; the guide tones of {given.text} sound"
    return f"by themselves the notes are {heard.text}, not {given.text}: a passing chord"


def _confidence(symbol: ChordSymbol, scores: np.ndarray) -> float:
    """Chance of the given root and family, given the notes and how far paper is trusted."""
    state = pitch_class_of(symbol.root) * 6 + FAMILIES.index(quality(symbol.quality).family)
    likely = np.exp(scores - scores.max())
    given = GIVEN_PRIOR * likely[state]
    others = (1 - GIVEN_PRIOR) * (likely.sum() - likely[state]) / (len(likely) - 1)
    return float(given / max(given + others, 1e-12))
