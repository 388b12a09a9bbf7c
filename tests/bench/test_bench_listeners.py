"""Listeners turn files into hearings: our ears by the contract, peers by their notes."""

import stat
import sys
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from bench.scoring.listeners import MidiProgram, OurEar, midi_notes, read_voicings
from bench.scoring.network_notes import NetworkNotes, decoded
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning
from tests.support.sound.awkward_files import struck

CHORD = (53, 59, 63, 68)


class FourNotes:
    """An ear that hears one chord whatever it is given."""

    name = "four notes"
    sample_rate_hz = 22_050
    hears_velocity = False

    def hear(self, audio: Audio, tuning: Tuning, progress: object) -> tuple[Note, ...]:
        return tuple(
            Note(onset_s=0.5, offset_s=1.5, midi=midi, velocity=64, confidence=0.9)
            for midi in CHORD
        )


def _midi_file(*notes: tuple[int, int, int, int]) -> mido.MidiFile:
    """Notes as (start tick, length in ticks, key, velocity); 480 ticks are half a second."""
    events = []
    for start, length, key, velocity in notes:
        events.append((start, mido.Message("note_on", note=key, velocity=velocity)))
        events.append((start + length, mido.Message("note_on", note=key, velocity=0)))
    file, track, now = mido.MidiFile(ticks_per_beat=480), mido.MidiTrack(), 0
    for tick, message in sorted(events, key=lambda event: (event[0], event[1].velocity > 0)):
        track.append(message.copy(time=tick - now))
        now = tick
    file.tracks.append(track)
    return file


def test_our_ear_gives_a_confidence_for_every_attack(tmp_path: Path) -> None:
    """Notes, attacks, confidences and chords have one length, whatever is read from them."""
    path = tmp_path / "a.wav"
    soundfile.write(path, struck(), 22_050)
    (heard,) = OurEar(FourNotes()).listen([path])
    assert [[n.midi for n in a.struck] for a in heard.attacks] == [list(CHORD)]
    (confidence,) = heard.confidences
    assert confidence is not None
    assert 0 < confidence <= 1
    assert heard.chords is not None
    assert len(heard.chords) == 1


def test_without_readings_confidence_is_the_weakest_notes(tmp_path: Path) -> None:
    """An attack is no surer than its least sure note."""
    path = tmp_path / "a.wav"
    soundfile.write(path, struck(), 22_050)
    (heard,) = OurEar(FourNotes(), read=lambda hearing: ()).listen([path])
    assert heard.confidences == (0.9,)
    assert heard.chords is None
    assert callable(read_voicings)


def test_midi_becomes_seconds() -> None:
    """At 120 beats a minute, MIDI's default, 480 ticks of 480 a beat are half a second."""
    rows = midi_notes(_midi_file((480, 480, 60, 127), (960, 960, 60, 64), (480, 240, 64, 100)))
    assert rows == [
        [0.5, pytest.approx(0.75), 64.0, pytest.approx(100 / 127)],
        [0.5, 1.0, 60.0, 1.0],
        [1.0, 2.0, 60.0, pytest.approx(64 / 127)],
    ]


def test_any_program_that_writes_midi_can_be_a_peer(tmp_path: Path) -> None:
    """It is called with a wav and a place for its MIDI file."""
    _midi_file((480, 480, 60, 90), (490, 480, 64, 90)).save(tmp_path / "made.mid")
    program = tmp_path / "peer"
    program.write_text(
        f"#!{sys.executable}\nimport shutil, sys\n"
        f"shutil.copy({str(tmp_path / 'made.mid')!r}, sys.argv[2])\n",
        encoding="utf-8",
    )
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    (heard,) = MidiProgram(program).listen([tmp_path / "a.wav"])
    assert [[n.midi for n in a.struck] for a in heard.attacks] == [[60, 64]]
    assert heard.attacks[0].onset_s == pytest.approx(0.5)
    assert heard.chords is None


def test_a_program_that_is_not_there_is_told_in_a_sentence(tmp_path: Path) -> None:
    """The name is repeated, so that the slip can be seen."""
    with pytest.raises(Complaint, match="nowhere cannot be run"):
        MidiProgram(tmp_path / "nowhere")


def test_the_networks_own_notes_hear_a_plain_note(tmp_path: Path) -> None:
    """A4 among its notes, within 50 ms of where it is (the tolerance that mir_eval has)."""
    path = tmp_path / "a.wav"
    soundfile.write(path, struck(69), 22_050)
    (heard,) = NetworkNotes().listen([path])
    nearest = min((n for n in heard.notes if n.midi == 69), key=lambda n: abs(n.onset_s - 0.5))
    assert np.isclose(nearest.onset_s, 0.5, atol=0.05)


def test_activations_become_notes_as_published() -> None:
    """A peak of 0.5 begins a note; gaps of ten frames are bridged, of eleven not; 11 at least."""
    onset, frame = np.zeros((120, 88)), np.zeros((120, 88))
    onset[[5, 60, 100], [10, 10, 20]] = 0.5
    frame[5:40, 10] = 0.6
    frame[20:30, 10] = 0.1
    frame[60:80, 10] = 0.4
    frame[91:95, 10] = 0.9
    frame[100:110, 20] = 0.9
    rows = decoded(onset, frame, 0.01)
    assert [row[:3] for row in rows] == [
        [0.05, pytest.approx(0.40), 31.0],
        [0.60, pytest.approx(0.80), 31.0],
    ]
    onset[60, 10] = 0.49
    assert [row[0] for row in decoded(onset, frame, 0.01)] == [0.05]
