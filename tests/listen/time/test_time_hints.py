"""What a player says of the time is believed, and nonsense is refused in one sentence."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from stackline.cli import commands
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.hearing import hear
from stackline.listen.time.beats import find_beats
from stackline.listen.time.time_hints import TimeHints, check_first_beat, check_hints
from stackline.options.hints import read_time
from stackline.shared.complaint import Complaint
from stackline.shared.notes import BeatGrid, Note
from tests.listen.time.test_beats import comping
from tests.support.sound.told_ear import PLAYED, RATE, ToldEar, notes


def nearest(grid: BeatGrid, time_s: float) -> tuple[float, int]:
    """How far the nearest beat is, and its number."""
    beat = min(grid.beats, key=lambda one: abs(one.time_s - time_s))
    return abs(beat.time_s - time_s), beat.number


@pytest.mark.parametrize("beat", [0, 1, 2, 3, 6])
def test_the_first_beat_is_where_it_is_said_to_be(beat: int) -> None:
    """Any beat of the take may be called the one, some tens of milliseconds off included."""
    attacks, beats = comping(116, seed=4)
    said = float(beats[beat]) + 0.03
    grid = find_beats(attacks, hints=TimeHints(first_beat_s=said))
    off, number = nearest(grid, float(beats[beat]))
    assert off < 0.05
    assert number == 1


def test_a_first_beat_settles_which_half_is_the_beat() -> None:
    """Straight chords on every half beat: the player's word decides."""
    struck = [
        Note(onset_s=1 + 0.6 * i, offset_s=1.3 + 0.6 * i, midi=60, velocity=64, confidence=0.9)
        for i in range(40)
    ]
    for said in (1.0, 1.3):
        hints = TimeHints(tempo_bpm=100, first_beat_s=said)
        off, number = nearest(find_beats(find_attacks(struck), hints=hints), said)
        assert off < 0.06
        assert number == 1


def test_hints_reach_the_beats_of_a_recording(tmp_path: Path) -> None:
    """Through `hear`: meter and first beat of a file."""
    path = tmp_path / "take.wav"
    soundfile.write(path, np.zeros(13 * RATE), RATE)
    at = PLAYED[5][0]
    grid = hear(path, ear=ToldEar(notes()), hints=TimeHints(beats_per_bar=3, first_beat_s=at)).grid
    assert grid.beats_per_bar == 3
    assert nearest(grid, at)[1] == 1


def test_a_first_beat_beyond_the_recording_is_refused(tmp_path: Path) -> None:
    """The sentence says where the recording ends."""
    path = tmp_path / "take.wav"
    soundfile.write(path, np.zeros(5 * RATE), RATE)
    with pytest.raises(Complaint, match=r"at 7 s, but the recording ends at 5\.0 s"):
        hear(path, ear=ToldEar(notes()), hints=TimeHints(first_beat_s=7.0))
    check_first_beat(TimeHints(first_beat_s=4.0), 5.0)


@pytest.mark.parametrize("seconds", [-0.1, float("inf"), float("nan")])
def test_an_impossible_first_beat(seconds: float) -> None:
    """Before the start, or nowhere."""
    with pytest.raises(Complaint, match=r"first beat at .* is out of range; give the seconds"):
        check_hints(TimeHints(first_beat_s=seconds))
    with pytest.raises(Complaint, match=r"--first-beat .*for example --first-beat 2\.4"):
        read_time(None, None, seconds, None)


@pytest.mark.parametrize("count", [-4, 0, 1, 17])
def test_an_impossible_count(count: int) -> None:
    """One click tells no tempo; nobody counts to seventeen."""
    with pytest.raises(Complaint, match=r"is out of range; give how many clicks .* 2 to 16"):
        check_hints(TimeHints(count_in=count))
    with pytest.raises(Complaint, match=r"--count-in .*allowed are 2 to 16 beats"):
        read_time(None, None, None, count)


def test_a_first_beat_belongs_to_one_recording() -> None:
    """Two recordings do not begin at the same moment."""
    with pytest.raises(Complaint, match="one recording, but several were given"):
        read_time(None, None, 1.0, None, recordings=2)
    assert read_time(96.0, "3/4", 1.0, 3) == TimeHints(
        tempo_bpm=96.0, beats_per_bar=3, first_beat_s=1.0, count_in=3
    )


@pytest.mark.parametrize("command", [["transcribe"], ["check"], ["library", "add"]])
def test_every_command_that_hears_takes_the_hints(command: list[str]) -> None:
    """Their help names all four."""
    result = CliRunner().invoke(commands, [*command, "--help"])
    for option in ("--tempo", "--meter", "--first-beat", "--count-in"):
        assert option in result.output
