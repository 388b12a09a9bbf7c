"""MusicXML harmony: both ways, and as another reader sees it."""

import os
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree as Et

import pytest
from music21 import converter, harmony

from stackline.shared.complaint import Complaint
from stackline.theory.chords.harmony_xml import harmony_element, read_harmony
from stackline.theory.chords.qualities import QUALITIES, Quality, quality
from stackline.theory.chords.symbols import make_symbol, parse_symbol


@pytest.mark.parametrize("row", QUALITIES, ids=lambda row: row.key or "major")
def test_writing_then_reading_is_identity(row: Quality) -> None:
    """Every quality survives the way through XML text."""
    symbol = make_symbol("Db", row.key, "Ab")
    again = Et.fromstring(Et.tostring(harmony_element(symbol)))
    assert read_harmony(again) == symbol


# MusicXML 4.0: kind and degree elements of these chords.
@pytest.mark.parametrize(
    ("text", "kind", "degrees"),
    [
        ("G13(b9)", "dominant-13th", {("alter", "9", "-1")}),
        ("G7(b9,b13)", "dominant", {("add", "9", "-1"), ("add", "13", "-1")}),
        ("C6/9", "major-sixth", {("add", "9", "0")}),
        (
            "G7alt",
            "dominant",
            {("add", "9", "-1"), ("add", "9", "1"), ("add", "13", "-1")},
        ),
        ("CmMaj7", "major-minor", set()),
    ],
)
def test_kinds_and_degrees_follow_the_standard(
    text: str, kind: str, degrees: set[tuple[str, ...]]
) -> None:
    """Kind and degrees as the MusicXML 4.0 reference defines them."""
    element = harmony_element(parse_symbol(text))
    found = {
        tuple(one.findtext(f"degree-{part}") for part in ("type", "value", "alter"))
        for one in element.findall("degree")
    }
    assert element.findtext("kind") == kind
    assert found == degrees


def test_signs_are_printed_and_the_type_is_kept() -> None:
    """The kind's text carries real accidentals, and a runner-up is an alternate."""
    element = harmony_element(parse_symbol("G13(b9)"), kind_of="alternate")
    kind = element.find("kind")
    assert kind is not None
    assert kind.get("text") == "13"
    flat = harmony_element(parse_symbol("Gm7b5")).find("kind")
    assert flat is not None
    assert flat.get("text") == "m7\u266d5"
    assert element.get("type") == "alternate"


# music21 as a reader; only kinds without alterations, which it keeps (it loses others).
@pytest.mark.parametrize("key", ["m7", "maj7", "7", "m9", "9", "m7b5", "dim7", "6", "m6", "mMaj7"])
def test_music21_reads_the_same_pitch_classes(key: str) -> None:
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
    assert found is not None
    assert {(pitch.pitchClass - 2) % 12 for pitch in found.pitches} == set(quality(key).intervals)


def test_unknown_kinds_are_refused() -> None:
    """A kind that is not in the table is a complaint."""
    with pytest.raises(Complaint, match="harmony kind 'Neapolitan'"):
        read_harmony(Et.fromstring("<harmony><root><root-step>C</root-step></root>"
                                   "<kind>Neapolitan</kind></harmony>"))  # fmt: skip


# What a notation editor (MuseScore 3.2.3, Debian) prints for them, read off its own file.
EDITOR = {
    "m9": "m9", "13": "13", "13(b9)": "13b9", "13(#11)": "13#11", "maj13": "maj13",
    "maj9(#11)": "maj9#11", "7(b9,b13)": "7b9b13", "7alt": "7b9#9b13", "6/9": "69", "m6/9": "m69",
    "9sus": "9sus4", "13sus(b9)": "13sus4b9", "m7b5": "m7b5", "dim7": "dim7", "m11": "m11",
}  # fmt: skip


@pytest.mark.skipif(shutil.which("mscore3") is None, reason="no notation editor here (musescore3)")
def test_a_notation_editor_prints_each_symbol_once(tmp_path: Path) -> None:
    """No tension twice, no "add" beside a 13, and nothing lost."""
    bars = "".join(
        f"<measure number='{number}'>"
        + ("<attributes><divisions>1</divisions></attributes>" if number == 1 else "")
        + Et.tostring(harmony_element(make_symbol("D", key)), encoding="unicode")
        + "<note><rest/><duration>4</duration></note></measure>"
        for number, key in enumerate(EDITOR, 1)
    )
    (tmp_path / "in.musicxml").write_text(
        "<score-partwise version='4.0'><part-list><score-part id='P1'><part-name/></score-part>"
        f"</part-list><part id='P1'>{bars}</part></score-partwise>",
        encoding="utf-8",
    )
    subprocess.run(
        ["mscore3", "in.musicxml", "-o", "out.mscx"],
        cwd=tmp_path,
        env=os.environ | {"QT_QPA_PLATFORM": "offscreen", "XDG_RUNTIME_DIR": str(tmp_path)},
        check=True,
        capture_output=True,
        timeout=120,
    )
    written = Et.parse(tmp_path / "out.mscx").getroot()
    assert [one.findtext("name") for one in written.iter("Harmony")] == list(EDITOR.values())
