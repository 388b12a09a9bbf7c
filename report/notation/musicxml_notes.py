"""Notes and rests of MusicXML 4.0, their parts in the order that the schema asks for."""

from xml.etree import ElementTree as Et

from stackline.report.notation.musicxml_elements import put_pitch, put_text, put_ties, voice_of
from stackline.report.score.score_model import TOP_COLOUR, Head, Item, Line

# By semitones (MusicXML's accidental-value).
ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


def notes_of(item: Item, line: Line, duration: int, *, two: bool, bare: bool) -> list[Et.Element]:
    """The note elements of an item: one for each head, one for a rest, drawn or not.

    duration: in divisions. two: whether its staff has two lines. bare: without stems, as in a slot.
    """
    stem = "up" if line.number == 1 else "down"
    if not two or item.value.name == "whole":
        stem = ""
    made = [
        _note(item, head, line, duration, "none" if bare else stem)
        for head in item.heads or (None,)
    ]
    for note in made[1:]:
        note.insert(0, Et.Element("chord"))
    return made


def _note(item: Item, head: Head | None, line: Line, duration: int, stem: str) -> Et.Element:
    """One note or rest, its parts in the order that the schema asks for."""
    note = Et.Element("note", {"print-object": "no"} if item.spacer else {})
    if head is None:
        Et.SubElement(note, "rest", {"measure": "yes"} if item.whole_bar else {})
    else:
        put_pitch(note, head)
    put_text(note, "duration", duration)
    if head is not None:
        put_ties(note, "tie", head)
    put_text(note, "voice", voice_of(line))
    if not item.whole_bar:
        put_text(note, "type", item.value.name)
        if item.value.dotted:
            Et.SubElement(note, "dot")
    if head is not None and head.accidental:
        put_text(note, "accidental", ACCIDENTALS[head.alter])
    if item.value.triplet:
        change = Et.SubElement(note, "time-modification")
        put_text(change, "actual-notes", 3)
        put_text(change, "normal-notes", 2)
    if head is not None:
        _look(note, head, stem)
    put_text(note, "staff", line.staff)
    if head is not None and (head.tied_in or head.tied_out or item.rolled):
        notations = Et.SubElement(note, "notations")
        put_ties(notations, "tied", head)
        if item.rolled:
            Et.SubElement(notations, "arpeggiate")
    return note


def _look(note: Et.Element, head: Head, stem: str) -> None:
    if stem:
        put_text(note, "stem", stem)
    if head.top:
        put_text(note, "notehead", "normal", {"color": TOP_COLOUR.upper()})
