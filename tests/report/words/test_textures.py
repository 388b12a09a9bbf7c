"""What was played where, and how a line looks in each output."""

import io
from xml.etree import ElementTree as Et

import mido
import pytest

from fixtures.played.lines.line_takes import add_line, as_heard, joined_takes, left_hand, line_alone
from fixtures.played.takes import LISTED, make_take
from fixtures.played.truth import TrueTake
from stackline import read_notes
from stackline.report.contents.chart import bars
from stackline.report.contents.chart_labels import BAR_H
from stackline.report.files import csv_file, midi_file, table
from stackline.report.notation import musicxml_file
from stackline.report.score.score_layout import lay_out
from stackline.report.score.score_model import RIGHT
from stackline.report.words.summary import as_text, details, summary
from stackline.report.words.take_view import TakeView
from stackline.report.words.textures import stretches, textures
from stackline.shared.notes import Beat, BeatGrid
from stackline.shared.take import Take


def _take(made: TrueTake) -> Take:
    grid = BeatGrid(
        beats=tuple(Beat(time_s=at, number=i % 4 + 1) for i, at in enumerate(made.beats_s)),
        tempo_bpm=made.tempo_bpm, source="heard", confidence=0.9,
    )  # fmt: skip
    return read_notes(as_heard(made), beats=grid, name="chorus.wav")


@pytest.fixture(scope="module")
def lined() -> Take:
    """A line over a left hand."""
    return _take(add_line(left_hand(21, duration_s=24.0), "scales", 21))


def test_two_choruses() -> None:
    """Comping of two hands, then a line over the left."""
    first = make_take(22, LISTED, duration_s=24.0)
    second = add_line(left_hand(23, duration_s=24.0), "arpeggios", 23)
    take = read_notes(as_heard(joined_takes(first, second)), beats=BeatGrid())
    assert [one.texture for one in stretches(take)] == ["comping", "a line over left-hand comping"]
    border_s = max(note.key_up_s for attack in first.attacks for note in attack.notes)
    assert abs(stretches(take)[1].first.onset_s - border_s) < 4.0
    assert "comping; from 0:2" in as_text(summary(TakeView(take)))
    assert "comping; from 0:2" in as_text(details(TakeView(take)))  # what the page says


def test_no_line_is_not_spoken_of() -> None:
    """A take of comping alone."""
    assert textures(TakeView(_take(make_take(24, LISTED, duration_s=20.0)))) == ""


def test_a_line_alone() -> None:
    """It has no voicings, and says so."""
    take = _take(line_alone(25, "scales", duration_s=20.0))
    assert take.voicings == ()
    assert textures(TakeView(take)) == "A line alone, throughout."
    assert as_text(summary(TakeView(take))) == "A line was heard, but no voicing in this recording."


def test_the_chart_has_a_strip_of_the_line(lined: Take) -> None:
    """Every note of the line stands once, inside its bar, apart from its neighbours in a row."""
    pictures = bars(TakeView(lined))
    labels = [label for bar in pictures for label in bar.line]
    assert len(labels) == sum(len(attack.line) for attack in lined.attacks)
    assert all(bar.height > BAR_H for bar in pictures)
    assert all(BAR_H < label.y < bar.height for bar in pictures for label in bar.line)
    assert any("a line over it plays" in bar.spoken for bar in pictures)


def test_the_score_writes_the_line_stems_up(lined: Take) -> None:
    """In the right hand's staff the line is the upper voice; with a chord below, stems part."""
    lines = {
        (note.onset_s, note.midi) for attack in lined.attacks for note in attack.line
    }  # fmt: skip
    heads = [
        head.midi
        for bar in lay_out(lined).bars for line in bar.staff_lines(RIGHT) if line.number == 1
        for item in line.items for head in item.heads
    ]  # fmt: skip
    assert len(heads) >= 0.9 * len(lines)
    root = Et.fromstring(musicxml_file.render(TakeView(lined)).split("\n", 2)[-1])
    assert {stem.text for stem in root.iter("stem")} <= {"up", "down", "none"}


def test_the_midi_file_has_a_track_of_the_line(lined: Take) -> None:
    """Every note is in one track; the line's in its own."""
    file = mido.MidiFile(file=io.BytesIO(midi_file.render(TakeView(lined))))
    by_name = {track.name: sum(m.type == "note_on" for m in track) for track in file.tracks[1:]}
    assert by_name["line"] == sum(len(attack.line) for attack in lined.attacks)
    assert sum(by_name.values()) == len(lined.notes)


def test_tables_say_what_is_over_a_voicing(lined: Take) -> None:
    """``b7 9 3 13, under 5`` on the terminal, a column in the spreadsheet."""
    over = [voicing for voicing in lined.voicings if voicing.under]
    assert over
    assert ", under" in table.render(TakeView(lined), width=160)
    assert csv_file.render(TakeView(lined)).splitlines()[0].endswith(",under")
