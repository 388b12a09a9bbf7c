"""MusicXML harmony: both ways, and as another reader sees it."""

from xml.etree import ElementTree as Et

import pytest
from music21 import converter, harmony

from stackline.shared.complaint import Complaint
from stackline.theory.chords.harmony_xml import harmony_element, read_harmony
from stackline.theory.chords.qualities import QUALITIES, quality
from stackline.theory.chords.symbols import make_symbol, parse_symbol


@pytest.mark.parametrize("row", QUALITIES, ids=lambda row: row.key or "major")
def test_writing_then_reading_is_identity(row):
    """Every quality survives the way through XML text."""
    symbol = make_symbol("Db", row.key, "Ab")
    again = Et.fromstring(Et.tostring(harmony_element(symbol)))
    assert read_harmony(again) == symbol


# MusicXML 4.0: kind and degree elements of these chords.
@pytest.mark.parametrize(
    ("text", "kind", "degrees"),
    [
        ("G13(b9)", "dominant", {("add", "13", "0"), ("add", "9", "-1")}),
        ("C6/9", "major-sixth", {("add", "9", "0")}),
        (
            "G7alt",
            "dominant",
            {("subtract", "5", "0"), ("add", "9", "-1"), ("add", "9", "1"), ("add", "13", "-1")},
        ),
        ("CmMaj7", "major-minor", set()),
    ],
)
def test_kinds_and_degrees_follow_the_standard(text, kind, degrees):
    """Kind and degrees as the MusicXML 4.0 reference defines them."""
    element = harmony_element(parse_symbol(text))
    found = {
        tuple(one.findtext(f"degree-{part}") for part in ("type", "value", "alter"))
        for one in element.findall("degree")
    }
    assert element.findtext("kind") == kind
    assert found == degrees


def test_signs_are_printed_and_the_type_is_kept():
    """The kind's text carries real accidentals, and a runner-up is an alternate."""
    element = harmony_element(parse_symbol("G13(b9)"), kind_of="alternate")
    kind = element.find("kind")
    assert kind is not None
    assert kind.get("text") == "13(\u266d9)"
    assert element.get("type") == "alternate"


# music21 as a reader; only kinds without alterations, which it keeps (it loses others).
@pytest.mark.parametrize("key", ["m7", "maj7", "7", "m9", "9", "m7b5", "dim7", "6", "m6", "mMaj7"])
def test_music21_reads_the_same_pitch_classes(key):
    """music21's MusicXML reader finds the row's pitch classes over the root."""
    part = (
        "<score-partwise version='4.0'><part-list><score-part id='P1'><part-name/></score-part>"
        "</part-list><part id='P1'><measure number='1'><attributes><divisions>1</divisions>"
        "</attributes>{}<note><rest/><duration>4</duration></note></measure></part>"
        "</score-partwise>"
    )
    element = Et.tostring(harmony_element(make_symbol("D", key)), encoding="unicode")
    score = converter.parseData(part.format(element), format="musicxml")
    found = score.flatten().getElementsByClass(harmony.ChordSymbol).first()
    assert {(pitch.pitchClass - 2) % 12 for pitch in found.pitches} == set(quality(key).intervals)


def test_unknown_kinds_are_refused():
    """A kind that is not in the table is a complaint."""
    with pytest.raises(Complaint, match="harmony kind 'Neapolitan'"):
        read_harmony(Et.fromstring("<harmony><root><root-step>C</root-step></root>"
                                   "<kind>Neapolitan</kind></harmony>"))  # fmt: skip
