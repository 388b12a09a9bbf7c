"""Chords as given: voicings explained against the changes, instead of guessed.

The symbol is the one on paper. What the notes would be called by themselves stands among
the alternatives where it differs, with the name of the substitution. The confidence weighs
the chord on paper (GIVEN_PRIOR) against everything else that the notes could be.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stackline.shared.harmony import Alternative, ChordSpan, ChordSymbol
from stackline.shared.notes import BeatGrid
from stackline.theory.chords.qualities import FAMILIES, quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.given.alignment import Placed, align
from stackline.theory.given.substitutions import is_played, name_substitution, shared_guides
from stackline.theory.labelling.step_scores import Scored
from stackline.theory.sheet.changes import Changes

GIVEN_PRIOR = 0.9


def given_spans(
    scored: Scored,
    heard: Sequence[ChordSpan | None],
    grid: BeatGrid,
    changes: Changes,
    end_s: float,
) -> list[ChordSpan | None]:
    """One span per step from the changes; where they rest (N.C.), the heard one stays."""
    placed = align(scored, grid, changes, end_s)
    form = tuple(chord for bar in changes.bars for chord in bar.chords)
    spans: list[ChordSpan | None] = []
    for i, (step, span) in enumerate(zip(scored.steps, heard, strict=True)):
        symbol = placed[i].chord.symbol
        if span is None or symbol is None:
            spans.append(span)
        else:
            scene = _Scene(symbol, step.pitches, _following(placed[i], form))
            spans.append(_span(scene, span, placed[i], scored.families[i]))
    return spans


def _following(place: Placed, form: Sequence[ChordSymbol | None]) -> ChordSymbol | None:
    """The next chord on paper that is another one; None where the form has no other."""
    start = place.number + 1  # a pickup counts up to -1, and the form begins with 0
    turn = [form[(start + i) % len(form)] for i in range(len(form))]
    own = place.chord.symbol
    return next((one for one in turn if one and own and one.text != own.text), None)


@dataclass(frozen=True)
class _Scene:
    """A given chord with what was played for it, low to high, and the next one on paper."""

    given: ChordSymbol
    pitches: tuple[int, ...]
    following: ChordSymbol | None

    def name_of(self, heard: ChordSymbol) -> str | None:
        """What a heard chord is to the given one, where the playing bears it out."""
        if not is_played(self.given, heard, self.pitches, self.following):
            return None
        return name_substitution(self.given, heard)


def _span(scene: _Scene, heard: ChordSpan, place: Placed, scores: np.ndarray) -> ChordSpan:
    symbol = scene.given
    own = Alternative(
        symbol=heard.symbol, confidence=heard.confidence, reason=_beside(scene, heard.symbol)
    )
    differs = not _same(symbol, heard.symbol)
    others = tuple(one for one in heard.alternatives if not _same(one.symbol, symbol))
    return ChordSpan(
        start_s=place.start_s,
        end_s=place.end_s,
        symbol=symbol,
        source="changes",
        confidence=_confidence(symbol, scores),
        alternatives=((own,) if differs else ()) + tuple(_unnamed(one, scene) for one in others),
    )


def _same(one: ChordSymbol, two: ChordSymbol) -> bool:
    return (
        pitch_class_of(one.root) == pitch_class_of(two.root)
        and quality(one.quality).family == quality(two.quality).family
    )


def _unnamed(one: Alternative, scene: _Scene) -> Alternative:
    """An alternative of the heard reading, under a chord that paper has decided."""
    name = scene.name_of(one.symbol)
    words = f": {name}, for {scene.given.text}" if name else ""
    return replace(
        one, reason=f"without the changes the notes could also be {one.symbol.text}{words}"
    )


def _beside(scene: _Scene, heard: ChordSymbol) -> str:
    """What the notes by themselves are to the chord on paper."""
    given, name = scene.given, scene.name_of(heard)
    if name is not None:
        return f"by themselves the notes are {heard.text}: {name}, for {given.text}"
    if shared_guides(given, frozenset(pitch % 12 for pitch in scene.pitches)):
        return f"by themselves the notes are {heard.text}; the guide tones of {given.text} sound"
    return f"by themselves the notes are {heard.text}, not {given.text}"


def _confidence(symbol: ChordSymbol, scores: np.ndarray) -> float:
    """Chance of the given root and family, given the notes and how far paper is trusted."""
    state = pitch_class_of(symbol.root) * 6 + FAMILIES.index(quality(symbol.quality).family)
    likely = np.exp(scores - scores.max())
    given = GIVEN_PRIOR * likely[state]
    others = (1 - GIVEN_PRIOR) * (likely.sum() - likely[state]) / (len(likely) - 1)
    return float(given / max(given + others, 1e-12))
