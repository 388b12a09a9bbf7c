"""A take as MusicXML 4.0: the score for notation editors.

One part of two staves. Chord symbols are ``<harmony>`` elements: "implied" where no root
sounds, "explicit" else; where a name is unsure words beside it say what else it may be. Only what
MusicXML 3.1 knows is written, for editors that stopped there call anything newer invalid: "Swing"
is a word alone. Degree stacks are words under the lower staff, notes of the top line are coloured,
held notes are tied. Without a beat grid, and in passages out of time, each attack is a measure
of one quarter without stems, meter or bar lines; between bars such measures are numbered X1, X2
and so on, and counted by no one. What is short beside them has a meter of its length, not
printed. Voices 1 and 2 are the upper staff's, 5 and 6 the lower's.

Source of the format: MusicXML 4.0, W3C Music Notation Community Group final report.
"""

from collections.abc import Iterator
from fractions import Fraction
from math import lcm
from xml.etree import ElementTree as Et

from stackline.report.notation.musicxml_elements import (
    harmonies_of,
    missed_words,
    offset_place,
    pedal_mark,
    put_barline,
    put_beams,
    put_bracket,
    put_text,
    stack_words,
    tempo_words,
    words,
)
from stackline.report.notation.musicxml_notes import notes_of
from stackline.report.score.note_groups import ends_passage, groups, rest_runs
from stackline.report.score.score_layout import lay_out
from stackline.report.score.score_model import LEFT, RIGHT, Bar, ClefSign, Line, Score
from stackline.report.words.take_view import TakeView

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
CLEFS: dict[ClefSign, tuple[str, str]] = {"treble": ("G", "2"), "bass": ("F", "4")}

Timed = tuple[Fraction, Et.Element]


def render(view: TakeView) -> str:
    """The take as MusicXML text."""
    return render_score(lay_out(view.take), f"stackline {view.take.version}")


def render_score(score: Score, software: str) -> str:
    """A score as MusicXML text; software: who made it, for the file's own record."""
    root = Et.Element("score-partwise", {"version": "4.0"})
    work = Et.SubElement(root, "work")
    put_text(work, "work-title", score.title)
    encoding = Et.SubElement(Et.SubElement(root, "identification"), "encoding")
    put_text(encoding, "software", software)
    for element in ("accidental", "beam", "stem"):
        Et.SubElement(encoding, "supports", {"element": element, "type": "yes"})
    listed = Et.SubElement(Et.SubElement(root, "part-list"), "score-part", {"id": "P1"})
    put_text(listed, "part-name", "Piano", {"print-object": "no"})
    instrument = Et.SubElement(listed, "score-instrument", {"id": "P1-I1"})
    put_text(instrument, "instrument-name", "Piano")
    part = Et.SubElement(root, "part", {"id": "P1"})
    writer = _Writer(score)
    for bar in score.bars:
        part.append(writer.measure(bar))
    if not score.bars:
        part.append(_silent_measure())
    Et.indent(root, " ")
    body = Et.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{DOCTYPE}\n{body}\n'


def _silent_measure() -> Et.Element:
    """A score must have a measure; one of rest where nothing was heard."""
    measure = Et.Element("measure", {"number": "1"})
    put_text(Et.SubElement(measure, "attributes"), "divisions", 1)
    note = Et.SubElement(measure, "note")
    Et.SubElement(note, "rest", {"measure": "yes"})
    put_text(note, "duration", 4)
    return measure


def divisions_of(score: Score) -> int:
    """Parts of a quarter note in which every length and place of the score is whole."""
    return lcm(
        1,
        *(
            place.denominator
            for bar in score.bars
            for line in bar.lines
            for item in line.items
            for place in (item.start, item.length)
        ),
    )


class _Writer:
    """Writes measures in order; what has not changed since the last is left out."""

    def __init__(self, score: Score) -> None:
        self._score = score
        self._divisions = divisions_of(score)
        self._rests = {id(bar): count for bar, count in rest_runs(score.bars) if count > 1}
        self._timed = next((bar for bar in score.bars if not bar.is_slot), None)
        self._following = dict(zip(map(id, score.bars), score.bars[1:], strict=False))
        self._before: Bar | None = None
        self._beats = self._printed = 0  # of the meter in force, and of the last one printed
        self._slots = 0

    def measure(self, bar: Bar) -> Et.Element:
        """One measure: attributes, then each line in turn with a step back between them."""
        measure = Et.Element("measure", {"number": self._number(bar)})
        if bar.pickup or bar.is_slot:
            measure.set("implicit", "yes")
        self._attributes(measure, bar)
        marks = {RIGHT: list(self._above(bar)), LEFT: list(self._below(bar))}
        for i, line in enumerate(bar.lines):
            if i:
                self._step(measure, "backup", bar.length)
            self._line(measure, bar, line, marks.pop(line.staff, []))
        following = self._following.get(id(bar))
        if following is None:
            put_barline(measure, "light-heavy")
        elif ends_passage(bar, following):
            put_barline(measure, "light-light")
        elif bar.is_slot:
            put_barline(measure, "none")
        self._before = bar
        return measure

    def _number(self, bar: Bar) -> str:
        """The number of a bar; slots between bars have their own, which nobody counts."""
        if not bar.is_slot or self._timed is None:
            return str(bar.number)
        self._slots += 1
        return f"X{self._slots}"

    def _duration(self, length: Fraction) -> int:
        return int(length * self._divisions)

    def _step(self, measure: Et.Element, name: str, length: Fraction) -> None:
        if length:
            put_text(Et.SubElement(measure, name), "duration", self._duration(length))

    def _attributes(self, measure: Et.Element, bar: Bar) -> None:
        before = self._before
        attributes = Et.Element("attributes")
        if before is None:
            put_text(attributes, "divisions", self._divisions)
        if before is None or before.fifths != bar.fifths:
            put_text(Et.SubElement(attributes, "key"), "fifths", bar.fifths)
        self._meter(attributes, bar)
        if self._before is None:
            put_text(attributes, "staves", 2)
        for staff, clef in enumerate(bar.clefs):
            if before is None or before.clefs[staff] != clef:
                element = Et.SubElement(attributes, "clef", {"number": str(staff + 1)})
                sign, line = CLEFS[clef]
                put_text(element, "sign", sign)
                put_text(element, "line", line)
        if id(bar) in self._rests:
            style = Et.SubElement(attributes, "measure-style")
            put_text(style, "multiple-rest", self._rests[id(bar)])
        if len(attributes):
            measure.append(attributes)

    def _meter(self, attributes: Et.Element, bar: Bar) -> None:
        """The meter where it is another than before; one that holds for a slot or a short bar is
        not printed, nor the last one again. A pickup that opens the score has the next meter.
        """
        following = self._following.get(id(bar))
        opens = self._before is None and not (following and following.is_slot)
        beats = bar.beats if opens else int(bar.length)
        if beats == self._beats:
            return
        self._beats = beats
        hidden = bar.is_slot or beats != bar.beats or beats == self._printed
        time = Et.SubElement(attributes, "time", {"print-object": "no"} if hidden else {})
        put_text(time, "beats", beats)
        put_text(time, "beat-type", 4)
        self._printed = self._printed if hidden else beats

    def _above(self, bar: Bar) -> Iterator[Timed]:
        """Word, tempo and chord symbols, each with its place in the bar."""
        if bar.word:
            yield Fraction(0), words("above", RIGHT, bar.word, {"font-style": "italic"})
        if bar is self._timed:
            tempo = tempo_words(self._score.tempo_bpm, swung=self._score.swung)
            if tempo is not None:
                yield Fraction(0), tempo
        for mark in bar.symbols:
            yield from ((mark.start, element) for element in harmonies_of(mark))

    def _below(self, bar: Bar) -> Iterator[Timed]:
        if bar.place:
            yield Fraction(0), words("below", LEFT, bar.place, {"font-style": "italic"})
        for stack in bar.stacks:
            yield stack.start, stack_words(stack)
            missed = missed_words(stack)
            if missed is not None:
                yield stack.start, missed
        for pedal in bar.pedals:
            yield pedal.start, pedal_mark(pedal)

    def _line(self, measure: Et.Element, bar: Bar, line: Line, marks: list[Timed]) -> None:
        """The notes of a line, with marks put in where their place comes."""
        two = len(bar.staff_lines(line.staff)) > 1
        coming = sorted(marks, key=lambda mark: mark[0])
        for group in groups(line):
            for run in group.runs:
                for i, item in enumerate(run):
                    while coming and coming[0][0] < item.end:
                        place, element = coming.pop(0)
                        self._mark(measure, element, place - item.start)
                    length = self._duration(item.length)
                    notes = notes_of(item, line, length, two=two, bare=bar.is_slot)
                    put_beams(notes, run, i)
                    if group.triplet:
                        put_bracket(notes, item, group.items)
                    measure.extend(notes)
        for place, element in coming:
            self._mark(measure, element, place - bar.length)

    def _mark(self, measure: Et.Element, element: Et.Element, offset: Fraction) -> None:
        """A mark before the next note, shifted where it stands inside or before it."""
        if offset:
            moved = Et.Element("offset")
            moved.text = str(self._duration(offset))
            element.insert(offset_place(element), moved)
        measure.append(element)
