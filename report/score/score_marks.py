"""What stands over and under the staves: chord symbols, degree stacks, pedal, bar by bar.

A symbol stands where the chord's name changes; a stack under every voicing. A symbol whose
name is unsure, and a stack whose notes are, say so; an unsure symbol carries its runner-up. What
was due and did not land stands with the stack of the chord that it should have landed in.
The pedal is marked where it must be down (`stackline.theory.stacks.pedal`): down at the chord that
it holds, up at the half beat where that ends (common practice in piano music).
"""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from stackline.report.score.score_model import PedalMark, StackMark, SymbolMark
from stackline.report.score.score_time import BarSpan, ScoreTime, bar_at
from stackline.report.words.marks import UNSURE_BELOW, hands, stack_text
from stackline.shared.harmony import Voicing
from stackline.shared.take import Take
from stackline.theory.motion.tally import ARRIVED
from stackline.theory.stacks.pedal import pedal_spans

HALF = Fraction(1, 2)


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
    take: Take, starts: Sequence[Fraction], bars: Sequence[BarSpan]
) -> dict[int, tuple[StackMark, ...]]:
    """Degree stacks by the start of their bar. starts: places of the voicings, in beats."""
    found: dict[int, list[StackMark]] = {}
    missed = _missed(take)
    for i, (voicing, start) in enumerate(zip(take.voicings, starts, strict=True)):
        bar = bar_at(start, bars)
        found.setdefault(bar.start, []).append(
            StackMark(
                start=start - bar.start,
                words=tuple(stack_text(voicing).split()),
                top=_top_word(voicing),
                unsure=voicing.confidence < UNSURE_BELOW,
                voicing=i,
                missed=missed.get(i, ()),
            )
        )
    return {start: tuple(marks) for start, marks in found.items()}


def _missed(take: Take) -> Mapping[int, tuple[str, ...]]:
    """What was due into each voicing and did not land, as degrees of the chord before."""
    due = {
        motion.to_index: tuple(
            str(one.degree) for one in motion.resolutions if one.outcome not in ARRIVED
        )
        for motion in take.motions
    }
    return {i: degrees for i, degrees in due.items() if degrees}


def pedal_marks(
    take: Take, time: ScoreTime, bars: Sequence[BarSpan]
) -> dict[int, tuple[PedalMark, ...]]:
    """Pedal marks by the start of their bar; none among slots."""
    found: dict[int, list[PedalMark]] = {}
    for start, end in _pedal_places(take, time, Fraction(bars[-1].end)):
        first, last = bar_at(start, bars), bar_at(end - HALF, bars)
        if first.slot_s is None and last.slot_s is None:
            down = PedalMark(start=start - first.start, down=True)
            found.setdefault(first.start, []).append(down)
            found.setdefault(last.start, []).append(PedalMark(start=end - last.start, down=False))
    return {start: tuple(marks) for start, marks in found.items()}


def _pedal_places(
    take: Take, time: ScoreTime, last: Fraction
) -> Iterator[tuple[Fraction, Fraction]]:
    """Where the pedal goes down and up, in beats."""
    onsets = [attack.onset_s for attack in take.attacks]
    spans = pedal_spans(take.attacks)
    ends = time.at([end for _, end in spans])
    for (start_s, _), raw in zip(spans, ends, strict=True):
        start = time.starts[max(bisect_right(onsets, start_s) - 1, 0)]
        yield start, min(max(Fraction(round(raw * 2), 2), start + HALF), last)


def _top_word(voicing: Voicing) -> int:
    """Where the top line's degree stands among the words of `stack_text`."""
    left, right = hands(voicing)
    order = [*left, *([None] if left and right else []), *right]
    return next(
        i for i, tone in enumerate(order) if tone is not None and tone.midi == voicing.top.midi
    )
