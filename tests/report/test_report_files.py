"""MIDI, CSV, .lab and the writing of outputs."""

import csv
import io
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from stackline.report.files import csv_file, lab_file, midi_file
from stackline.report.outputs import FORMATS, stem_of, write
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint
from stackline.shared.notes import BeatGrid
from stackline.shared.take import Take
from tests.support.takes.sample_take import (
    TEMPO_BPM,
    empty_take,
    gridless_take,
    long_take,
    note,
    sample_take,
    time_of,
)

Golden = Callable[[str, str], None]


def read_midi(take: Take) -> mido.MidiFile:
    """The rendered file as mido (an independent reader of the standard) sees it."""
    return mido.MidiFile(file=io.BytesIO(midi_file.render(TakeView(take))), charset="utf-8")


def heard_notes(file: mido.MidiFile) -> list[tuple[int, float, float, int]]:
    """(midi, onset, offset, velocity) in seconds, by mido's own tempo arithmetic."""
    now, open_notes, found = 0.0, {}, []
    for message in file:
        now += message.time
        key = (getattr(message, "channel", None), getattr(message, "note", None))
        if message.type == "note_on":
            open_notes[key] = (now, message.velocity)
        elif message.type == "note_off":
            start, velocity = open_notes.pop(key)
            found.append((message.note, start, now, velocity))
    assert not open_notes
    return sorted(found)


@pytest.mark.parametrize("make", [sample_take, gridless_take, lambda: long_take(60)])
def test_midi_read_back_gives_the_same_notes(make: Callable[[], Take]) -> None:
    """Every note, its times within a tick (at 96 beats a minute 0.65 ms)."""
    take = make()
    file = read_midi(take)
    tick_s = 60 / TEMPO_BPM / file.ticks_per_beat
    expected = sorted((n.midi, n.onset_s, n.offset_s, n.velocity) for n in take.notes)
    found = heard_notes(file)
    assert [(n[0], n[3]) for n in found] == [(n[0], n[3]) for n in expected]
    for (_, start, end, _), (_, onset, offset, _) in zip(found, expected, strict=True):
        assert start == pytest.approx(onset, abs=tick_s)
        assert end == pytest.approx(offset, abs=tick_s)


def test_midi_bar_lines_fall_on_downbeats() -> None:
    """Downbeat of bar n stands at a whole number of bars in ticks."""
    file = read_midi(sample_take())
    now = 0
    for message in file.tracks[0]:
        now += message.time
        if message.type == "marker" and message.text == "Dbmaj13":  # bar 3, beat 1
            break
    assert now % (4 * file.ticks_per_beat) == 0


def test_midi_hands_are_tracks() -> None:
    """The left hand of the two-handed voicing is on the track of that name."""
    file = read_midi(sample_take())
    names = [track.name for track in file.tracks]
    assert names == ["warm-up.wav", "right hand", "left hand"]
    left = {m.note for m in file.tracks[2] if m.type == "note_on"}
    right = {m.note for m in file.tracks[1] if m.type == "note_on"}
    assert {53, 60} <= left
    assert {72, 77} <= right
    assert 32 in left  # struck alone, without a voicing: below middle C


def test_midi_symbols_are_markers() -> None:
    """One marker a voicing, in order, at its onset."""
    markers = [m.text for m in read_midi(sample_take()).tracks[0] if m.type == "marker"]
    assert markers == ["Ebm9", "Ab13(b9)", "Dbmaj13", "Dm9", "G7(b9,b13)", "Cmaj9"]


def test_midi_ends_a_pitch_where_it_is_struck_again() -> None:
    """A re-struck key with the pedal down does not leave a note hanging."""
    take = sample_take()
    first, again = note(60, 1.0, 3.0), note(60, 2.0, 4.0)
    take = replace(take, grid=BeatGrid(), notes=(first, again), voicings=(), motions=())
    ends = [(round(start, 3), round(end, 3)) for _, start, end, _ in heard_notes(read_midi(take))]
    assert ends == [(1.0, 2.0), (2.0, 4.0)]


def test_midi_of_silence_is_a_valid_file() -> None:
    """No notes, no fault; a name beyond Latin-1 is kept."""
    take = sample_take("\u7df4\u7fd2.wav")
    assert read_midi(take).tracks[0].name == "\u7df4\u7fd2.wav"
    assert heard_notes(read_midi(empty_take())) == []


def test_csv_prints_as_its_golden_file(golden: Golden) -> None:
    """One row a voicing."""
    golden("sample.csv", csv_file.render(TakeView(sample_take())))


def test_csv_read_back_keeps_lists_and_commas() -> None:
    """Python's csv reader (RFC 4180) finds the symbol with its comma and the stack."""
    rows = list(csv.DictReader(io.StringIO(csv_file.render(TakeView(sample_take())))))
    assert [row["symbol"] for row in rows][4] == "G7(b9,b13)"
    assert rows[4]["unsure"] == "notes name"
    assert rows[1]["stack"].split() == ["b7", "3", "13", "b9"]
    assert (rows[2]["due"], rows[2]["landed"]) == ("4", "3")
    assert (rows[4]["bar"], rows[4]["beat"]) == ("5", "4.5")


def test_lab_prints_as_its_golden_file(golden: Golden) -> None:
    """Chords, N in the gaps, X where the name is unsure."""
    golden("sample.lab", lab_file.render(TakeView(sample_take())))


@pytest.mark.parametrize("make", [sample_take, gridless_take, empty_take, lambda: long_take(50)])
def test_lab_is_read_by_mir_eval(make: Callable[[], Take], tmp_path: Path) -> None:
    """mir_eval reads the intervals, finds no gap, and accepts every label as Harte syntax."""
    import mir_eval

    path = tmp_path / "take.lab"
    path.write_text(lab_file.render(TakeView(make())))
    intervals, labels = mir_eval.io.load_labeled_intervals(str(path))
    assert np.all(intervals[1:, 0] == intervals[:-1, 1])
    assert intervals[0, 0] == 0.0
    assert intervals[-1, 1] == pytest.approx(make().source.duration_s, abs=1e-3)
    roots, _, _ = mir_eval.chord.encode_many(labels)
    assert len(roots) == len(labels)


def test_outputs_are_written_and_returned(tmp_path: Path) -> None:
    """Every format, each under the recording's name, and nothing else in the folder."""
    paths = write(sample_take(), tmp_path / "out", tuple(FORMATS))
    names = {"warm-up" + chosen.suffix for chosen in FORMATS.values()}
    assert {path.name for path in paths} == names
    assert {path.name for path in (tmp_path / "out").iterdir()} == names
    assert json.loads((tmp_path / "out" / "warm-up.json").read_text())["format"] == 1


def test_suffixes_are_all_different() -> None:
    """No format overwrites another."""
    suffixes = [chosen.suffix for chosen in FORMATS.values()]
    assert len(set(suffixes)) == len(suffixes)


def test_unknown_formats_are_told(tmp_path: Path) -> None:
    """The complaint lists what can be chosen, and nothing is written."""
    with pytest.raises(Complaint, match=r"unknown format 'doc'; choose from page, text, midi"):
        write(sample_take(), tmp_path, ("csv", "doc"))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("warm-up.wav", "warm-up"),
        ("../../etc/passwd", "passwd"),
        ("C:\\takes\\one.m4a", "one"),
        ("<img src=x onerror=alert(1)>.wav", "_img src=x onerror=alert(1)_"),
        ("..", "take"),
        ("", "take"),
        ("a\nb.wav", "a_b"),
    ],
)
def test_file_names_stay_in_the_folder(name: str, stem: str) -> None:
    """A hostile recording name becomes a plain stem."""
    assert stem_of(name) == stem


def test_an_unwritable_folder_is_told(tmp_path: Path) -> None:
    """A file where the folder should be gives one sentence."""
    (tmp_path / "taken").write_text("")
    with pytest.raises(Complaint, match="cannot write"):
        write(sample_take(), tmp_path / "taken", ("csv",))


def test_the_page_carries_its_sound(tmp_path: Path) -> None:
    """With a recording the page holds it as a data URI; without, it asks for the file."""
    sound = tmp_path / "warm-up.wav"
    tone = 0.2 * np.sin(2 * np.pi * 440 * np.arange(8000) / 16000)
    soundfile.write(sound, tone, 16000)
    with_sound, = write(replace_length(sample_take(), 0.5), tmp_path, ("page",), sound)  # fmt: skip
    assert "src=\"data:audio/mp4;base64," in with_sound.read_text()  # fmt: skip
    without, = write(sample_take("bare.wav"), tmp_path, ("page",))  # fmt: skip
    assert 'type="file"' in without.read_text()


def replace_length(take: Take, duration_s: float) -> Take:
    """The same take said to last so long."""
    return replace(take, source=replace(take.source, duration_s=duration_s))


def test_time_of_is_the_grid_the_sample_claims() -> None:
    """The sample's attacks stand where its beats do (the sample checks itself)."""
    take = sample_take()
    beats = {beat.time_s for beat in take.grid.beats}
    assert time_of(3, 1) in beats
    assert all(
        attack.position is not None
        and attack.onset_s == time_of(attack.position.bar, attack.position.beat)
        for attack in take.attacks
    )
