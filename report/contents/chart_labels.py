"""What is written into a picture of the chart, and at which height notes lie in it.

Chord symbols stand above the notes, the degree of each top note over it, what did not land below
its chord, and the degrees of a line under the picture. Places are in drawing units.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stackline.report.contents.chart_slots import BAR_W, Slot
from stackline.report.words.marks import UNSURE_BELOW, doubts
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from stackline.theory.stacks.line_over import LineNote

SYMBOL_H = 34.0  # two lines of symbols
ROLL_H = 120.0
LINE_H = 26.0  # two rows of degrees of a line, below a bar that has one
LINE_ROWS = (10.0, 22.0)  # their baselines
DEGREE_W = 15.0  # about one degree with its sign
LABEL_H = 14.0  # bar number or time below the notes
BAR_H = SYMBOL_H + ROLL_H + LABEL_H
SYMBOL_UNIT = 8.2  # about one character of a chord symbol
UPPER_LINE, LOWER_LINE = 13.0, 29.0  # baselines of the symbols
MARGIN_MIDI = 3  # semitones of air above the highest and below the lowest note


@dataclass(frozen=True, kw_only=True)
class Label:
    """Text at a place; `index` is the voicing that it speaks of."""

    x: float
    y: float
    text: str
    index: int
    unsure: bool = False


def pitch_rows(take: Take) -> tuple[int, int]:
    """The lowest and the highest pitch that the chart has a row for."""
    pitches = [note.midi for note in take.notes] or [60]
    return min(pitches) - MARGIN_MIDI, max(pitches) + MARGIN_MIDI + 2  # degrees stand on top


class Scale:
    """Pitch to height, the same in every bar; a row is a semitone. unit: height of a row."""

    def __init__(self, take: Take) -> None:
        low, self._high = pitch_rows(take)
        self.unit = ROLL_H / (self._high - low + 1)

    def y(self, midi: int) -> float:
        """Middle of a pitch's row."""
        return SYMBOL_H + (self._high - midi + 0.5) * self.unit


def symbols_of(take: Take, slot: Slot, inside: list[int]) -> Iterator[Label]:
    """The symbols that are new, on the upper line where the lower one is taken."""
    taken = {LOWER_LINE: 0.0, UPPER_LINE: 0.0}
    for i in inside:
        voicing = take.voicings[i]
        symbol = voicing.chord.symbol.text
        if i and take.voicings[i - 1].chord.symbol.text == symbol:
            continue
        width = SYMBOL_UNIT * (len(symbol) + 1)
        x = max(min(slot.place(voicing.attack), BAR_W - width), 0.0)
        y = LOWER_LINE if taken[LOWER_LINE] <= x else UPPER_LINE
        x = max(x, taken[y])
        taken[y] = x + width
        yield Label(x=x, y=y, text=symbol, index=i, unsure=bool(doubts(voicing)))


def held_over(take: Take, slot: Slot, symbols: Sequence[Label]) -> str:
    """The symbol that still holds where the bar begins; empty where a new one stands there."""
    onsets = [voicing.attack.onset_s for voicing in take.voicings]
    before = bisect_right(onsets, slot.start_s) - 1
    if before < 0:
        return ""
    symbol = take.voicings[before].chord.symbol.text
    room = min((label.x for label in symbols), default=BAR_W)
    return symbol if room > SYMBOL_UNIT * (len(symbol) + 1) else ""


def missed_of(view: TakeView, slot: Slot, inside: list[int]) -> Iterator[Label]:
    """A mark below the chord that a dominant's degree should have arrived in."""
    for i in inside:
        names = [str(one.degree) for motion, one in view.missed if motion.to_index == i]
        if names:
            x = min(slot.place(view.take.voicings[i].attack), BAR_W - SYMBOL_UNIT * 4)
            yield Label(x=x, y=BAR_H - LABEL_H - 4, text=" ".join(names), index=i)


def degree_of(take: Take, slot: Slot, scale: Scale, i: int) -> Label:
    """The degree of the top note, above it."""
    voicing = take.voicings[i]
    y = scale.y(voicing.top.midi) - scale.unit / 2 - 4
    return Label(x=slot.place(voicing.attack), y=y, text=str(voicing.top.degree), index=i)


def line_of(line: tuple[LineNote, ...], slot: Slot) -> Iterator[Label]:
    """The degrees of a line where its notes begin, in two rows where they are close."""
    ends = [0.0] * len(LINE_ROWS)
    for one in line:
        if slot.start_s <= one.note.onset_s < slot.end_s:
            x, text = slot.x(one.note.onset_s), str(one.tone.degree) if one.tone else one.name
            row = min(range(len(LINE_ROWS)), key=lambda i: (max(ends[i] - x, 0.0), i))
            x = min(max(x, ends[row]), BAR_W - DEGREE_W)
            ends[row] = x + DEGREE_W
            unsure = max(one.note.line, 1 - one.note.line) < UNSURE_BELOW
            yield Label(x=x, y=BAR_H + LINE_ROWS[row], text=text, index=one.over or 0,
                        unsure=unsure)  # fmt: skip
