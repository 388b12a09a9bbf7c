"""A score as bars, lines and note values: what every notation writer starts from.

Lengths and places are in quarter notes (a beat is a quarter), exact fractions. Two staves:
1 for the right hand, 2 for the left. A staff has one line, or two where a note is touched
while a chord still sounds. Nothing here knows MusicXML or MEI.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from stackline.shared.harmony import ChordSymbol

RIGHT, LEFT = 1, 2  # numbers of staves, from the top
TOP_COLOUR = "#a3431b"  # of the top line
ClefSign = Literal["treble", "bass"]
ValueName = Literal["whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th"]


@dataclass(frozen=True, kw_only=True)
class Value:
    """A note value: its name, whether dotted, whether a triplet (three in the time of two)."""

    name: ValueName
    dotted: bool = False
    triplet: bool = False


@dataclass(frozen=True, kw_only=True)
class Head:
    """One notehead.

    midi, step, alter, octave: sounding pitch and its spelling (C4 = 60). accidental: whether
    a sign stands before it. tied_in, tied_out: sounds on from before, into the next. top: a
    note of the top line. number: counts the notes of the score; tied heads share it.
    """

    midi: int
    step: str
    alter: int
    octave: int
    number: int
    accidental: bool = False
    tied_in: bool = False
    tied_out: bool = False
    top: bool = False


@dataclass(frozen=True, kw_only=True)
class Item:
    """A chord, a note, a rest or an empty space in a line.

    start: from the beginning of the bar. heads: low to high, none for a rest. spacer: a rest
    that is not drawn. whole_bar: a rest for the whole bar. voicing: index in the take of the
    voicing that is struck here. rolled: struck one after the other.
    """

    start: Fraction
    length: Fraction
    value: Value
    heads: tuple[Head, ...] = ()
    spacer: bool = False
    whole_bar: bool = False
    voicing: int | None = None
    rolled: bool = False

    @property
    def end(self) -> Fraction:
        return self.start + self.length


@dataclass(frozen=True, kw_only=True)
class Line:
    """One voice of a staff in one bar; number 1 is the upper one where there are two."""

    staff: int
    number: int
    items: tuple[Item, ...]


@dataclass(frozen=True, kw_only=True)
class SymbolMark:
    """A chord symbol over the bar. rootless: no root sounds. unsure: the name is a guess.

    alternative: the runner-up, where the name is unsure.
    """

    start: Fraction
    symbol: ChordSymbol
    rootless: bool
    unsure: bool
    alternative: ChordSymbol | None
    voicing: int


@dataclass(frozen=True, kw_only=True)
class StackMark:
    """The degree stack of a voicing, in words (ASCII): degrees, and a bar between the hands.

    top: index of the word that is the top line's degree. unsure: the notes are in doubt.
    missed: degrees of the dominant before that were due to land here and did not.
    """

    start: Fraction
    words: tuple[str, ...]
    top: int
    unsure: bool
    voicing: int
    missed: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PedalMark:
    """Where the sustain pedal goes down, or up again."""

    start: Fraction
    down: bool


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One bar, or one slot of music without a pulse.

    number: as counted by the take, of a slot in its passage; pickup: it lacks its first beats
    and is not counted. beats: of the meter. length: what it holds. fifths: key signature in
    force (sharps positive). clefs: of staff 1 and 2. place: what stands under a slot (its
    time), empty in bars. word: where a passage out of time begins or ends.
    """

    number: int
    beats: int
    length: Fraction
    fifths: int
    clefs: tuple[ClefSign, ClefSign]
    lines: tuple[Line, ...]
    pickup: bool = False
    place: str = ""
    word: str = ""
    symbols: tuple[SymbolMark, ...] = ()
    stacks: tuple[StackMark, ...] = ()
    pedals: tuple[PedalMark, ...] = ()

    @property
    def is_slot(self) -> bool:
        """Whether this is a slot, without meter and bar line."""
        return bool(self.place)

    def staff_lines(self, staff: int) -> tuple[Line, ...]:
        """The lines of one staff, upper first."""
        return tuple(line for line in self.lines if line.staff == staff)


@dataclass(frozen=True, kw_only=True)
class Score:
    """A take as notation.

    barred: whether any is a bar, or all are slots of one attack each. swung: off-beats are written
    straight and played late. tempo_bpm: None where there is none.
    """

    title: str
    barred: bool
    bars: tuple[Bar, ...] = field(default=())
    swung: bool = False
    tempo_bpm: float | None = None
