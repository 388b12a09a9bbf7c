"""Elements of MusicXML 4.0 that need more than a line: marks, ties, beams, brackets.

Small makers for `musicxml_file`; each gives or completes elements in the order that the
schema asks for.
"""

from collections.abc import Iterator
from xml.etree import ElementTree as Et

from stackline.report.score.note_groups import flags
from stackline.report.score.score_model import (
    LEFT,
    RIGHT,
    TOP_COLOUR,
    Head,
    Item,
    Line,
    PedalMark,
    StackMark,
    SymbolMark,
)
from stackline.report.words.marks import MISSED_SIGN, UNSURE_SIGN
from stackline.theory.chords.harmony_xml import HarmonyType, harmony_element
from stackline.theory.chords.spelling import with_signs

SMALL = "8"  # points, for what stands under the staff


def put_text(
    parent: Et.Element, name: str, text: object, attributes: dict[str, str] | None = None
) -> Et.Element:
    """A child element with a text."""
    element = Et.SubElement(parent, name, attributes or {})
    element.text = str(text)
    return element


def put_barline(measure: Et.Element, style: str) -> None:
    """The line at the end of a measure."""
    put_text(Et.SubElement(measure, "barline", {"location": "right"}), "bar-style", style)


def voice_of(line: Line) -> int:
    """The voice number of a line: 1 and 2 above, 5 and 6 below."""
    return line.number + (4 if line.staff == LEFT else 0)


def put_pitch(note: Et.Element, head: Head) -> None:
    """The sounding pitch of a head."""
    pitch = Et.SubElement(note, "pitch")
    put_text(pitch, "step", head.step)
    if head.alter:
        put_text(pitch, "alter", head.alter)
    put_text(pitch, "octave", head.octave)


def put_ties(parent: Et.Element, name: str, head: Head) -> None:
    """Tie ends of a head: ``tie`` sounds, ``tied`` is drawn."""
    if head.tied_in:
        Et.SubElement(parent, name, {"type": "stop"})
    if head.tied_out:
        Et.SubElement(parent, name, {"type": "start"})


def harmonies_of(mark: SymbolMark) -> Iterator[Et.Element]:
    """The chord symbol, and where it is unsure what else it may be, as words.

    A second harmony of type "alternate" would say so too, but editors print it over the first,
    hidden or not.
    """
    kind: HarmonyType = "implied" if mark.rootless else "explicit"
    yield _over_the_staff(harmony_element(mark.symbol, kind_of=kind))
    if mark.unsure:
        other = f" or {with_signs(mark.alternative.text)}" if mark.alternative else ""
        yield words("above", RIGHT, f"{UNSURE_SIGN}{other}")


def _over_the_staff(harmony: Et.Element) -> Et.Element:
    put_text(harmony, "staff", RIGHT)
    return harmony


def words(placement: str, staff: int, text: str, look: dict[str, str] | None = None) -> Et.Element:
    """A small text above or below a staff."""
    direction = Et.Element("direction", {"placement": placement})
    kind = Et.SubElement(direction, "direction-type")
    put_text(kind, "words", text, {"font-size": SMALL, "font-style": "normal"} | (look or {}))
    put_text(direction, "staff", staff)
    return direction


def stack_words(stack: StackMark) -> Et.Element:
    """A degree stack as words under the lower staff."""
    text = with_signs(" ".join(stack.words)) + f" {UNSURE_SIGN}" * stack.unsure
    return words("below", LEFT, text)


def missed_words(stack: StackMark) -> Et.Element | None:
    """What did not land in a chord, as coloured words under its stack; None where all did."""
    if not stack.missed:
        return None
    text = with_signs(" ".join(f"{MISSED_SIGN} {one}" for one in stack.missed))
    return words("below", LEFT, text, {"color": TOP_COLOUR.upper()})


def pedal_mark(pedal: PedalMark) -> Et.Element:
    """The pedal going down or up, as signs without a line."""
    direction = Et.Element("direction", {"placement": "below"})
    kind = Et.SubElement(direction, "direction-type")
    way = "start" if pedal.down else "stop"
    Et.SubElement(kind, "pedal", {"type": way, "line": "no", "sign": "yes"})
    put_text(direction, "staff", LEFT)
    return direction


def offset_place(element: Et.Element) -> int:
    """Where the schema wants an offset: before voice, staff and sound."""
    names = [child.tag for child in element]
    return next((i for i, name in enumerate(names) if name in ("staff", "sound")), len(names))


def put_beams(notes: list[Et.Element], run: tuple[Item, ...], at: int) -> None:
    """Beam elements on the first note of a chord; a run of one has none."""
    if len(run) < 2:
        return
    counts = [flags(item) for item in run]
    index = next(i for i, child in enumerate(notes[0]) if child.tag == "staff") + 1
    for level in range(1, counts[at] + 1):
        beam = Et.Element("beam", {"number": str(level)})
        beam.text = _beam_text(counts, at, level)
        notes[0].insert(index + level - 1, beam)


def _beam_text(counts: list[int], at: int, level: int) -> str:
    before = at > 0 and counts[at - 1] >= level
    after = at + 1 < len(counts) and counts[at + 1] >= level
    if before:
        return "continue" if after else "end"
    if after:
        return "begin"
    return "backward hook" if at > 0 else "forward hook"


def put_bracket(notes: list[Et.Element], item: Item, items: tuple[Item, ...]) -> None:
    """The ends of a triplet bracket on its first and last item."""
    for edge, kind in ((items[0], "start"), (items[-1], "stop")):
        if item is edge:
            notations = notes[0].find("notations")
            if notations is None:
                notations = Et.SubElement(notes[0], "notations")
            place = len(notations.findall("tied"))
            notations.insert(place, Et.Element("tuplet", {"type": kind, "bracket": "yes"}))


def tempo_words(bpm: float | None, *, swung: bool) -> Et.Element | None:
    """The metronome mark and the feel; None where there is neither."""
    if bpm is None and not swung:
        return None
    direction = Et.Element("direction", {"placement": "above"})
    if swung:
        put_text(Et.SubElement(direction, "direction-type"), "words", "Swing")
    sound = Et.Element("sound")
    if bpm is not None:
        metronome = Et.SubElement(Et.SubElement(direction, "direction-type"), "metronome")
        put_text(metronome, "beat-unit", "quarter")
        put_text(metronome, "per-minute", f"{bpm:.0f}")
        sound.set("tempo", f"{bpm:.2f}")
    put_text(direction, "staff", RIGHT)
    direction.append(sound)
    return direction
