"""Chord symbols as MusicXML 4.0 ``<harmony>`` elements, both ways.

Kind and degrees come from the row of the quality; ``text`` on the kind is how the kind itself is
spelled, with real accidentals, and readers print the degrees behind it (so the standard has it,
and so notation editors do: with the whole symbol as text they print its tensions twice). type:
"implied" fits a rootless voicing, "alternate" the runner-up reading, "explicit" a root that
sounds.
"""

from typing import Literal
from xml.etree import ElementTree as Et

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ACCIDENTALS, ChordSymbol
from stackline.theory.chords.qualities import QUALITIES, Quality, XmlDegree, quality
from stackline.theory.chords.spelling import with_signs
from stackline.theory.chords.symbols import make_symbol

HarmonyType = Literal["explicit", "implied", "alternate"]


def harmony_element(symbol: ChordSymbol, *, kind_of: HarmonyType = "implied") -> Et.Element:
    """The ``<harmony>`` element of a chord symbol."""
    row = quality(symbol.quality)
    harmony = Et.Element("harmony", {"type": kind_of})
    _note(harmony, "root", symbol.root)
    kind = Et.SubElement(harmony, "kind", {"text": with_signs(_kind_text(row))})
    kind.text = row.xml_kind
    if symbol.bass is not None:
        _note(harmony, "bass", symbol.bass)
    for one in row.xml_degrees:
        degree = Et.SubElement(harmony, "degree")
        Et.SubElement(degree, "degree-value").text = str(one.value)
        Et.SubElement(degree, "degree-alter").text = str(one.alter)
        Et.SubElement(degree, "degree-type").text = one.type
    return harmony


def _kind_text(row: Quality) -> str:
    """What is printed for the kind alone; a reader prints the degrees behind it."""
    return row.key.partition("(")[0] if row.xml_degrees else row.key


def _note(harmony: Et.Element, name: str, spelled: str) -> None:
    parent = Et.SubElement(harmony, name)
    Et.SubElement(parent, f"{name}-step").text = spelled[0]
    alter = spelled.count("#") - spelled.count("b")
    if alter:
        Et.SubElement(parent, f"{name}-alter").text = str(alter)


def read_harmony(harmony: Et.Element) -> ChordSymbol:
    """Read a ``<harmony>`` element; raises Complaint for a chord that is not in the table."""
    kind = harmony.findtext("kind", "")
    degrees = {
        XmlDegree(
            type=one.findtext("degree-type", ""),
            value=int(one.findtext("degree-value", "0")),
            alter=int(one.findtext("degree-alter", "0")),
        )
        for one in harmony.findall("degree")
    }
    for row in QUALITIES:
        if row.xml_kind == kind and set(row.xml_degrees) == degrees:
            bass = harmony.find("bass")
            return make_symbol(
                _spelled(harmony, "root"),
                row.key,
                None if bass is None else _spelled(harmony, "bass"),
            )
    raise Complaint(
        f"cannot read the MusicXML harmony kind {kind!r} with {len(degrees)} degrees; "
        "write a kind and degrees of the table of qualities"
    )


def _spelled(harmony: Et.Element, name: str) -> str:
    step = harmony.findtext(f"{name}/{name}-step", "")
    alter = int(float(harmony.findtext(f"{name}/{name}-alter", "0")))
    if step not in tuple("ABCDEFG") or alter not in ACCIDENTALS:
        raise Complaint(f"cannot read the MusicXML {name} {step!r}: a step A to G is needed")
    return step + ACCIDENTALS[alter]
