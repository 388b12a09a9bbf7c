"""MusicXML: by the W3C schema, and as two other readers see it."""

import base64
import io
import re
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from xml.etree import ElementTree as Et

import mido
import pytest
import verovio
from hypothesis import HealthCheck, given, settings

from bench.harmony.musicxml_readers import (
    errors,
    read_by_music21,
    written,
)
from stackline.report.notation import musicxml_file
from stackline.report.score.score_model import TOP_COLOUR
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from tests.support.takes.mixed_takes import MIXED
from tests.support.takes.played_takes import grid_of, played_takes, struck, take_of
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take

TAKES: dict[str, Callable[[], Take]] = {
    "sample": sample_take,
    "gridless": gridless_take,
    "empty": empty_take,
    "long": lambda: long_take(40),
} | MIXED


@pytest.mark.parametrize("name", TAKES)
def test_files_are_valid_musicxml(name: str) -> None:
    """The W3C schema accepts every kind of take."""
    assert errors(musicxml_file.render(TakeView(TAKES[name]()))) == []


def test_the_schema_would_complain() -> None:
    """The check can fail: an element out of order is refused."""
    document = musicxml_file.render(TakeView(sample_take()))
    assert errors(document.replace("<fifths>-5</fifths>", "<fifths>flat</fifths>"))
    assert errors(document.replace("<divisions>", "<voice>1</voice><divisions>", 1))


@pytest.mark.parametrize("name", ["sample", "gridless", "long"])
def test_music21_reads_the_same_notes(name: str) -> None:
    """Pitches and places of all notes, tied pieces joined."""
    take = TAKES[name]()
    assert read_by_music21(musicxml_file.render(TakeView(take))) == written(take)
    assert Counter(midi for _, midi in written(take)) == Counter(n.midi for n in take.notes)


@settings(deadline=None, max_examples=15, suppress_health_check=[HealthCheck.too_slow])
@given(played_takes())
def test_music21_reads_whatever_is_played(take: Take) -> None:
    """Random playing: valid, and the same notes come back."""
    document = musicxml_file.render(TakeView(take))
    assert errors(document) == []
    assert read_by_music21(document) == written(take)


@pytest.mark.parametrize("name", ["sample", "gridless", "long", "introduction", "middle", "ending"])
def test_verovio_reads_the_same_notes(name: str) -> None:
    """A second reader: what Verovio would play, by way of its MIDI (ties joined there)."""
    take = TAKES[name]()
    toolkit = verovio.toolkit()
    assert toolkit.loadData(musicxml_file.render(TakeView(take)))
    file = mido.MidiFile(file=io.BytesIO(base64.b64decode(toolkit.renderToMIDI())))
    found = []
    for track in file.tracks:
        now = 0
        for message in track:
            now += message.time
            if message.type == "note_on" and message.velocity:
                found.append((Fraction(now, file.ticks_per_beat), message.note))
    assert sorted(found) == written(take)


def test_triplets_and_sixteenths_survive() -> None:
    """Thirds and quarters of a beat come back where they were."""
    places = [
        Fraction(0),
        Fraction(1, 3),
        Fraction(2, 3),
        Fraction(1),
        Fraction(5, 4),
        Fraction(3, 2),
        Fraction(3),
    ]
    notes = [one for place in places for one in struck((55, 59, 62), place, 0.2)]
    take = take_of(notes, grid_of(8))
    document = musicxml_file.render(TakeView(take))
    assert errors(document) == []
    assert sorted({place for place, _ in read_by_music21(document)}) == places
    assert document.count('<tuplet type="start"') == 2 * document.count("<tuplet ") // 4


def test_a_long_pause_is_marked_as_one_rest() -> None:
    """Twelve silent bars stay twelve measures, drawn as one rest; the notes keep their places."""
    chord = (53, 57, 60, 64)
    notes = struck(chord, Fraction(0), 2) + struck(chord, Fraction(52), 2)
    document = musicxml_file.render(TakeView(take_of(notes, grid_of(60))))
    assert errors(document) == []
    assert re.findall(r"<multiple-rest>(\d+)<", document) == ["12"]
    assert {place for place, _ in read_by_music21(document)} == {Fraction(0), Fraction(52)}


def elements(take: Take, path: str) -> list[Et.Element]:
    """Elements of the rendered file."""
    return Et.fromstring(musicxml_file.render(TakeView(take))).findall(path)


def test_rootless_chords_are_implied() -> None:
    """MusicXML 4.0: "explicit" has all notes in the music, "implied" has notes missing."""
    kinds = [(one.get("type"), one.findtext("root/root-step")) for one in
             elements(sample_take(), ".//harmony")]  # fmt: skip
    assert kinds == [
        ("implied", "E"), ("implied", "A"), ("implied", "D"), ("implied", "D"), ("implied", "G"),
        ("explicit", "C"),
    ]  # fmt: skip


def test_symbols_are_printed_with_real_signs_and_doubts() -> None:
    """The text is the kind's alone, for readers print the degrees behind it; ? stands above."""
    texts = [one.get("text") for one in elements(sample_take(), ".//harmony/kind")]
    assert texts[:3] == ["m9", "13", "maj13"]
    assert texts[4] == "7"
    assert {one.get("print-object") for one in elements(sample_take(), ".//degree")} == {None}
    above = [
        one.findtext("direction-type/words")
        for one in elements(sample_take(), ".//direction")
        if one.get("placement") == "above"
    ]
    assert [one for one in above if one and one.startswith("?")] == ["? or D\u266d9"]


def test_stacks_stand_under_the_lower_staff() -> None:
    """Every voicing has its degree stack as words of staff 2."""
    rows = [
        one.findtext("direction-type/words")
        for one in elements(sample_take(), ".//direction[@placement='below']")
        if one.findtext("staff") == "2"
    ]
    assert rows[1] == "\u266d7 3 | 13 \u266d9"
    stacks = [row for row in rows if row and not row.startswith("\u2717")]
    assert stacks[4] == "\u266d7 3 | \u266d13 \u266d9 ?"
    assert len(stacks) == len(sample_take().voicings)


def test_what_did_not_land_stands_under_its_chord() -> None:
    """The b9 that went up is marked where it should have landed, in colour."""
    marks = [one for one in elements(sample_take(), ".//words") if "\u2717" in (one.text or "")]
    assert [one.text for one in marks] == ["\u2717 \u266d9"]
    assert marks[0].get("color") == TOP_COLOUR.upper()


def test_top_notes_are_coloured() -> None:
    """As many coloured heads begin as there are voicings."""
    heads = [
        one for one in elements(sample_take(), ".//note")
        if one.find("notehead") is not None and one.find("tie[@type='stop']") is None
    ]  # fmt: skip
    assert len(heads) == len(sample_take().voicings)


def test_without_a_grid_there_is_no_meter_to_see() -> None:
    """Hidden time signature, no bar lines but the last, no stems."""
    document = Et.fromstring(musicxml_file.render(TakeView(gridless_take())))
    assert [one.get("print-object") for one in document.iter("time")] == ["no"]
    styles = [one.text for one in document.iter("bar-style")]
    assert styles == ["none"] * (len(styles) - 1) + ["light-heavy"]
    assert {one.text for one in document.iter("stem")} == {"none"}


def test_hostile_names_stay_text() -> None:
    """A title that looks like markup is read back as it was."""
    hostile = "<img src=x onerror=alert(1)>&\x01.wav"
    document = Et.fromstring(musicxml_file.render(TakeView(sample_take(hostile))))
    assert document.findtext("work/work-title") == hostile.replace(
        "\x01", "\N{REPLACEMENT CHARACTER}"
    )


def test_the_file_is_its_golden_file(golden: Callable[[str, str], None]) -> None:
    """The whole text of the sample."""
    golden("sample.musicxml", musicxml_file.render(TakeView(sample_take())))


def test_nothing_outside_is_named_but_the_standard() -> None:
    """No link but that of the DOCTYPE."""
    document = musicxml_file.render(TakeView(sample_take()))
    assert re.findall(r"https?://[^\"]+", document) == ["http://www.musicxml.org/dtds/partwise.dtd"]
    assert io.StringIO(document).readline().startswith("<?xml")
