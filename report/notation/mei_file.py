"""A score as MEI 5, the notation format that the engraver reads best.

Only what `score_model` says: two staves in a brace, spelled notes, ties, beams, chord
symbols above, degree stacks below, in real accidental signs. Marks for those who style or
script the drawing are MEI types, which become classes there: ``voicing-12`` on everything of
that voicing, ``top`` on notes of the top line, ``unsure`` on a doubtful symbol or stack.
The same score gives the same text, ids included.

Source of the format: the MEI Guidelines, version 5 (music-encoding.org).
"""

from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree as Et

from stackline.report.score.note_groups import ends_passage, groups, rest_runs
from stackline.report.score.score_model import (
    LEFT,
    RIGHT,
    Bar,
    ClefSign,
    Head,
    Item,
    Line,
    Score,
    StackMark,
)
from stackline.report.words.marks import MISSED_SIGN, UNSURE_SIGN
from stackline.theory.chords.spelling import with_signs

NAMESPACE = "http://www.music-encoding.org/ns/mei"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"
DURATIONS = {
    "whole": "1", "half": "2", "quarter": "4", "eighth": "8", "16th": "16", "32nd": "32",
    "64th": "64", "128th": "128",
}  # fmt: skip
# By semitones (MEI's data.ACCIDENTAL.WRITTEN).
ACCIDENTALS = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}
CLEFS: dict[ClefSign, dict[str, str]] = {
    "treble": {"shape": "G", "line": "2"},
    "bass": {"shape": "F", "line": "4"},
}
APART = "\u00a0"  # behind a text, so that the next one keeps its distance
QUARTER_SIGN = "\ueca5"  # metNoteQuarterUp of SMuFL


def render(score: Score) -> str:
    """The score as MEI text."""
    mei = Et.Element("mei", {"xmlns": NAMESPACE, "meiversion": "5.0"})
    head = _nested(mei, "meiHead", "fileDesc")
    _nested(head, "titleStmt", "title").text = score.title
    Et.SubElement(head, "pubStmt")
    body = _nested(mei, "music", "body", "mdiv", "score")
    if score.bars:
        _Writer(score).write(body)
    return Et.tostring(mei, encoding="unicode", xml_declaration=True)


def _nested(parent: Et.Element, *names: str) -> Et.Element:
    """Elements inside each other; the innermost."""
    for name in names:
        parent = Et.SubElement(parent, name)
    return parent


def key_text(fifths: int) -> str:
    """A key signature as MEI counts it: ``5f``, ``2s``, ``0``."""
    return f"{abs(fifths)}{'f' if fifths < 0 else 's'}" if fifths else "0"


class _Writer:
    """Writes bars in order; ids of heads join ties, ids of chords join rolled hands."""

    def __init__(self, score: Score) -> None:
        self._score = score
        self._pieces: dict[int, int] = {}  # heads written of each note
        self._timed = next((bar for bar in score.bars if not bar.is_slot), None)
        self._beats = 0  # of the meter in force, none so far

    def write(self, body: Et.Element) -> None:
        self._definition(body, self._score.bars[0])
        section = Et.SubElement(body, "section")
        measure = self._measure(section, self._score.bars[0])
        for (before, _), (bar, count) in pairwise(rest_runs(self._score.bars)):
            if ends_passage(before, bar):
                measure.set("right", "dbl")
            self._change(section, measure, before, bar)
            measure = self._measure(section, bar) if count == 1 else _long_rest(section, bar, count)
        measure.set("right", "end")

    def _definition(self, body: Et.Element, bar: Bar) -> None:
        definition = Et.SubElement(body, "scoreDef", {"keysig": key_text(bar.fifths)})
        definition.attrib |= self._new_meter(bar)
        group = Et.SubElement(definition, "staffGrp", {"bar.thru": "true"})
        Et.SubElement(group, "grpSym", {"symbol": "brace"})
        for staff, clef in zip((RIGHT, LEFT), bar.clefs, strict=True):
            row = Et.SubElement(group, "staffDef", {"n": str(staff), "lines": "5"})
            Et.SubElement(row, "clef", CLEFS[clef])

    def _change(self, section: Et.Element, measure: Et.Element, before: Bar, bar: Bar) -> None:
        """New clefs at the end of the bar before, a new signature or meter before the bar."""
        for staff, (old, new) in enumerate(zip(before.clefs, bar.clefs, strict=True), RIGHT):
            layer = measure.find(f"staff[@n='{staff}']/layer")
            if old != new and layer is not None:
                Et.SubElement(layer, "clef", CLEFS[new])
        changed = {"keysig": key_text(bar.fifths)} if bar.fifths != before.fifths else {}
        changed |= self._new_meter(bar)
        if changed:
            Et.SubElement(section, "scoreDef", changed)

    def _new_meter(self, bar: Bar) -> dict[str, str]:
        """The meter of a bar where it is another than before; a slot has none."""
        if bar.is_slot or bar.beats == self._beats:
            return {}
        self._beats = bar.beats
        return {"meter.count": str(bar.beats), "meter.unit": "4"}

    def _measure(self, section: Et.Element, bar: Bar) -> Et.Element:
        measure = Et.SubElement(section, "measure")
        if bar.is_slot:
            measure.set("right", "invis")
        else:
            measure.set("n", str(bar.number))
        if bar.pickup or (bar.is_slot and self._score.barred) or bar.length < bar.beats:
            measure.set("metcon", "false")
        ties: list[tuple[str, str]] = []
        rolled: dict[int, list[str]] = {}
        for staff in (RIGHT, LEFT):
            element = Et.SubElement(measure, "staff", {"n": str(staff)})
            for line in bar.staff_lines(staff):
                self._layer(element, line, ties, rolled, bare=bar.is_slot)
        if bar.word:
            where = {"staff": "1", "tstamp": "1", "place": "above"}
            Et.SubElement(measure, "dir", where).text = bar.word + APART
        if bar is self._timed:
            self._tempo(measure)
        self._marks(measure, bar)
        for start, end in ties:
            Et.SubElement(measure, "tie", {"startid": f"#{start}", "endid": f"#{end}"})
        for ids in rolled.values():
            Et.SubElement(measure, "arpeg", {"plist": " ".join(f"#{one}" for one in ids)})
        return measure

    def _layer(
        self, staff: Et.Element, line: Line, ties: list[tuple[str, str]],
        rolled: dict[int, list[str]], *, bare: bool,
    ) -> None:  # fmt: skip
        layer = Et.SubElement(staff, "layer", {"n": str(line.number)})
        for group in groups(line):
            parent = layer
            if group.triplet:
                parent = Et.SubElement(layer, "tuplet", {"num": "3", "numbase": "2"})
            for run in group.runs:
                inside = Et.SubElement(parent, "beam") if len(run) > 1 else parent
                for item in run:
                    self._item(inside, item, ties, rolled, bare=bare)

    def _item(
        self, parent: Et.Element, item: Item, ties: list[tuple[str, str]],
        rolled: dict[int, list[str]], *, bare: bool,
    ) -> None:  # fmt: skip
        """bare: without a stem, as in a slot."""
        if item.whole_bar:
            Et.SubElement(parent, "mSpace" if item.spacer else "mRest")
            return
        length = {"dur": DURATIONS[item.value.name]} | ({"dots": "1"} if item.value.dotted else {})
        if not item.heads:
            Et.SubElement(parent, "space" if item.spacer else "rest", length)
            return
        common = dict(length)
        if bare:
            common["stem.visible"] = "false"
        kind = f"voicing-{item.voicing}" if item.voicing is not None else ""
        if len(item.heads) == 1:
            self._head(parent, item.heads[0], common, kind, ties)
            return
        chord = Et.SubElement(parent, "chord", common)
        if kind:
            chord.set("type", kind)
        ids = [self._head(chord, head, {}, "", ties) for head in item.heads]
        if item.rolled and item.voicing is not None:
            name = f"chord-{ids[0]}"
            chord.set(XML_ID, name)
            rolled.setdefault(item.voicing, []).append(name)

    def _head(
        self, parent: Et.Element, head: Head, common: dict[str, str], kind: str,
        ties: list[tuple[str, str]],
    ) -> str:  # fmt: skip
        piece = self._pieces[head.number] = self._pieces.get(head.number, -1) + 1
        name = f"note-{head.number}-{piece}"
        note = Et.SubElement(
            parent, "note",
            {XML_ID: name, "pname": head.step.lower(), "oct": str(head.octave)} | common,
        )  # fmt: skip
        if head.accidental:
            note.set("accid", ACCIDENTALS[head.alter])
        elif head.alter:
            note.set("accid.ges", ACCIDENTALS[head.alter])
        kinds = [word for word in (kind, "top" if head.top else "") if word]
        if kinds:
            note.set("type", " ".join(kinds))
        if head.tied_out:
            ties.append((name, f"note-{head.number}-{piece + 1}"))
        return name

    def _tempo(self, measure: Et.Element) -> None:
        """How fast, and whether off-beats are swung."""
        bpm, swing = self._score.tempo_bpm, "Swing" if self._score.swung else ""
        if bpm is None and not swing:
            return
        tempo = Et.SubElement(measure, "tempo", {"staff": "1", "tstamp": "1", "place": "above"})
        if bpm is None:
            tempo.text = swing
            return
        tempo.set("midi.bpm", f"{bpm:.0f}")
        tempo.text = f"{swing} " if swing else ""
        sign = Et.SubElement(tempo, "rend", {"glyph.auth": "smufl", "fontstyle": "normal"})
        sign.text, sign.tail = QUARTER_SIGN, f" = {bpm:.0f}"

    def _marks(self, measure: Et.Element, bar: Bar) -> None:
        for mark in bar.symbols:
            text = with_signs(mark.symbol.text) + (UNSURE_SIGN if mark.unsure else "")
            if mark.alternative is not None:
                text += f" or {with_signs(mark.alternative.text)}"
            harm = self._harm(measure, RIGHT, "above", mark.start, mark.voicing, mark.unsure)
            harm.text = text + APART
        for stack in bar.stacks:
            self._stack(measure, stack)
            if stack.missed:
                _missed(measure, stack)
        for pedal in bar.pedals:
            way = "down" if pedal.down else "up"
            where = {"staff": "2", "tstamp": f"{float(pedal.start) + 1:.6g}", "place": "below"}
            Et.SubElement(measure, "pedal", where | {"dir": way, "form": "pedstar", "vgrp": "2"})
        if bar.place:
            where = {"staff": "2", "tstamp": "1", "place": "below", "vgrp": "1"}
            place = Et.SubElement(measure, "dir", where)
            Et.SubElement(place, "rend", {"fontsize": "x-small"}).text = bar.place

    @staticmethod
    def _harm(
        measure: Et.Element, staff: int, place: str, start: Fraction, voicing: int, unsure: bool
    ) -> Et.Element:
        return Et.SubElement(
            measure, "harm",
            {
                "staff": str(staff), "place": place, "tstamp": f"{float(start) + 1:.6g}",
                "type": f"voicing-{voicing}{' unsure' if unsure else ''}",
            },
        )  # fmt: skip

    def _stack(self, measure: Et.Element, stack: StackMark) -> None:
        """Degrees in small type, that of the top line in bold."""
        harm = self._harm(measure, LEFT, "below", stack.start, stack.voicing, stack.unsure)
        words = [with_signs(word) for word in stack.words]
        before, after = words[: stack.top], words[stack.top + 1 :]
        small = Et.SubElement(harm, "rend", {"fontsize": "small"})
        small.text = "".join(f"{word} " for word in before)
        top = Et.SubElement(small, "rend", {"fontweight": "bold"})
        top.text = words[stack.top]
        doubt = f" {UNSURE_SIGN}" * stack.unsure
        top.tail = "".join(f" {word}" for word in after) + doubt + APART


def _missed(measure: Et.Element, stack: StackMark) -> None:
    """What did not land here, under the stack."""
    where = {"staff": "2", "place": "below", "tstamp": f"{float(stack.start) + 1:.6g}"}
    kind = {"type": f"voicing-{stack.voicing} missed", "vgrp": "3"}
    text = Et.SubElement(measure, "dir", where | kind)
    small = Et.SubElement(text, "rend", {"fontsize": "small", "fontstyle": "normal"})
    small.text = " ".join(with_signs(f"{MISSED_SIGN} {one}") for one in stack.missed) + APART


def _long_rest(section: Et.Element, bar: Bar, count: int) -> Et.Element:
    """Silent bars as one measure."""
    measure = Et.SubElement(section, "measure", {"n": str(bar.number)})
    for staff in (RIGHT, LEFT):
        layer = _nested(Et.SubElement(measure, "staff", {"n": str(staff)}), "layer")
        Et.SubElement(layer, "multiRest", {"num": str(count)})
    return measure
