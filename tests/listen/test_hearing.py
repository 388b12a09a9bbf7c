"""The whole of listening with an ear that hears what it is told: files in, attacks out."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from stackline.commands.demo_command import bundled_recording
from stackline.ears import make_ear
from stackline.listen.ear import Ear
from stackline.listen.hearing import hear
from stackline.listen.recording.decode import decode
from stackline.listen.time.time_hints import TimeHints
from stackline.shared.complaint import Complaint
from tests.support.sound.sounds import chords
from tests.support.sound.told_ear import PLAYED, RATE, ToldEar, notes


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """Twelve seconds of chords on every half second, 30 cents sharp, stereo at 44.1 kHz."""
    sharp = [(at, [midi + 0.3 for midi in midis]) for at, midis in PLAYED]
    sound = chords(sharp, duration_s=12.5, rate_hz=44_100, ring_s=0.4)
    path = tmp_path / "take.wav"
    soundfile.write(path, np.stack([sound, sound], axis=1), 44_100)
    return path


def test_a_recording_becomes_attacks_in_a_grid(recording: Path) -> None:
    """Source, tuning, notes, beats and positions of one take."""
    ear = ToldEar(notes())
    hearing = hear(recording, ear=ear)
    assert hearing.source.name == "take.wav"
    assert hearing.source.duration_s == pytest.approx(12.5, abs=0.001)
    assert len(hearing.source.sha256) == 64
    assert hearing.ear == "told 1"
    assert hearing.tuning.offset_cents == pytest.approx(30, abs=2)
    assert [attack.pitches for attack in hearing.attacks] == [
        tuple(sorted(midis)) for _, midis in PLAYED
    ]
    assert hearing.grid.tempo_bpm == pytest.approx(120, rel=0.01)
    assert all(attack.position is not None for attack in hearing.attacks)
    assert {note.velocity for note in hearing.notes} != {64}


def test_the_ear_gets_its_own_rate_and_the_tuning(recording: Path) -> None:
    """One channel at the ear's rate, sliceable."""
    ear = ToldEar(notes())
    hear(recording, ear=ear, expected_a_hz=455)
    ((audio, tuning),) = ear.asked
    assert audio.sample_rate_hz == RATE
    assert audio.samples[0:10].dtype == np.float32
    assert tuning.offset_cents == pytest.approx(30, abs=2)


def test_every_note_is_struck_in_one_attack(recording: Path) -> None:
    """The notes of a hearing and of its attacks are the same objects' values."""
    hearing = hear(recording, ear=ToldEar(notes()))
    struck = sorted(
        (note for attack in hearing.attacks for note in attack.struck),
        key=lambda note: (note.onset_s, note.midi),
    )
    assert tuple(struck) == hearing.notes


def test_nothing_heard_is_no_error(recording: Path) -> None:
    """An empty hearing has no attacks, no beats, no tempo."""
    hearing = hear(recording, ear=ToldEar(()))
    assert (hearing.notes, hearing.attacks, hearing.grid.beats) == ((), (), ())


def test_hints_reach_the_grid(recording: Path) -> None:
    """Tempo and meter are the player's word."""
    hearing = hear(recording, ear=ToldEar(notes()), hints=TimeHints(tempo_bpm=60, beats_per_bar=3))
    assert hearing.grid.beats_per_bar == 3
    assert hearing.grid.tempo_bpm == pytest.approx(60, rel=0.01)


def test_hints_are_checked_before_the_work(tmp_path: Path) -> None:
    """A wrong hint is told at once, not after minutes of listening."""
    ear: Ear = ToldEar(())
    with pytest.raises(Complaint, match="beats a minute"):
        hear(tmp_path / "missing.wav", ear=ear, hints=TimeHints(tempo_bpm=7))
    with pytest.raises(Complaint, match="is no tuning"):
        hear(tmp_path / "missing.wav", ear=ear, expected_a_hz=44)


def test_progress_names_its_stages(recording: Path) -> None:
    """Stages in words, fractions from 0 to 1, the last stage done."""
    told: list[tuple[str, float]] = []
    hear(recording, ear=ToldEar(notes()), progress=lambda *one: told.append(one))
    assert all(0.0 <= fraction <= 1.0 for _, fraction in told)
    assert told[-1] == ("finding the beats", 1.0)
    assert list(dict.fromkeys(stage for stage, _ in told)) == [
        "reading the recording",
        "listening",
        "finding the beats",
    ]


@pytest.mark.parametrize("ear", ["piano", "general"])
def test_a_silent_channel_changes_no_note(tmp_path: Path, ear: str) -> None:
    """Eight seconds of a piano on one of two channels: note by note what the mono file gives."""
    played = decode(bundled_recording(), 44_100).samples[: 8 * 44_100]
    mono, stereo = tmp_path / "mono.wav", tmp_path / "stereo.wav"
    soundfile.write(mono, played, 44_100, subtype="FLOAT")
    soundfile.write(stereo, np.stack([0 * played, played], axis=1), 44_100, subtype="FLOAT")
    notes_of_mono = hear(mono, ear=make_ear(ear)).notes
    assert len(notes_of_mono) > 10
    assert hear(stereo, ear=make_ear(ear)).notes == notes_of_mono
