"""What stands over and under the staves: chord symbols and degree stacks, bar by bar.

A symbol stands where the chord's name changes; a stack under every voicing. A symbol whose
name is unsure, and a stack whose notes are, say so; an unsure symbol carries its runner-up.
"""

from collections.abc import Sequence
from fractions import Fraction

from stackline.report.score.score_model import StackMark, SymbolMark
from stackline.report.score.score_time import BarSpan, bar_at
from stackline.report.words.marks import UNSURE_BELOW, hands, stack_text
from stackline.shared.harmony import Voicing


def symbol_marks(
    voicings: Sequence[Voicing], starts: Sequence[Fraction], bars: Sequence[BarSpan]
) -> dict[int, tuple[SymbolMark, ...]]:
    """Symbols by the start of their bar. starts: places of the voicings, in beats."""
    found: dict[int, list[SymbolMark]] = {}
    before = ""
    for i, (voicing, start) in enumerate(zip(voicings, starts, strict=True)):
        symbol = voicing.chord.symbol
        if symbol.text != before:
            bar = bar_at(start, bars)
            found.setdefault(bar.start, []).append(_symbol(i, voicing, start - bar.start))
        before = symbol.text
    return {start: tuple(marks) for start, marks in found.items()}


def _symbol(index: int, voicing: Voicing, start: Fraction) -> SymbolMark:
    chord = voicing.chord
    unsure = chord.confidence < UNSURE_BELOW
    others = [one.symbol for one in chord.alternatives if one.symbol.text != chord.symbol.text]
    return SymbolMark(
        start=start,
        symbol=chord.symbol,
        rootless=all(str(tone.degree) != "R" for tone in voicing.tones),
        unsure=unsure,
        alternative=others[0] if unsure and others else None,
        voicing=index,
    )


def stack_marks(
    voicings: Sequence[Voicing], starts: Sequence[Fraction], bars: Sequence[BarSpan]
) -> dict[int, tuple[StackMark, ...]]:
    """Degree stacks by the start of their bar."""
    found: dict[int, list[StackMark]] = {}
    for i, (voicing, start) in enumerate(zip(voicings, starts, strict=True)):
        bar = bar_at(start, bars)
        found.setdefault(bar.start, []).append(
            StackMark(
                start=start - bar.start,
                words=tuple(stack_text(voicing).split()),
                top=_top_word(voicing),
                unsure=voicing.confidence < UNSURE_BELOW,
                voicing=i,
            )
        )
    return {start: tuple(marks) for start, marks in found.items()}


def _top_word(voicing: Voicing) -> int:
    """Where the top line's degree stands among the words of `stack_text`."""
    left, right = hands(voicing)
    order = [*left, *([None] if left and right else []), *right]
    return next(
        i for i, tone in enumerate(order) if tone is not None and tone.midi == voicing.top.midi
    )
