"""Units, degrees, positions, files: the ground floor's small promises."""

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stackline.shared.complaint import Complaint
from stackline.shared.files import beside, write_text
from stackline.shared.harmony import Degree
from stackline.shared.notes import Attack, Beat, BeatGrid, Note, Position
from stackline.shared.take import Source, Take, notes_per_beat
from stackline.shared.units import clock, hz_to_midi, midi_to_hz

# OEIS A320304: frequencies of MIDI notes in Hz, rounded, A4 = 440. Notes 0..63.
A320304 = (
    "8 9 9 10 10 11 12 12 13 14 15 15 16 17 18 19 21 22 23 24 26 28 29 31 33 35 37 39 41 44 46 "
    "49 52 55 58 62 65 69 73 78 82 87 92 98 104 110 117 123 131 139 147 156 165 175 185 196 208 "
    "220 233 247 262 277 294 311"
)


def test_frequencies_agree_with_the_published_list() -> None:
    """Notes 0 to 63, rounded to whole Hz, are OEIS A320304."""
    listed = [int(word) for word in A320304.split()]
    assert [round(midi_to_hz(n)) for n in range(64)] == listed


@given(st.floats(0, 127))
def test_pitch_and_frequency_are_inverse(midi: float) -> None:
    """Going to Hz and back changes nothing."""
    assert hz_to_midi(midi_to_hz(midi)) == pytest.approx(midi, abs=1e-9)


def test_a_frequency_must_be_positive() -> None:
    """Zero has no pitch."""
    with pytest.raises(ValueError, match="positive"):
        hz_to_midi(0.0)


@pytest.mark.parametrize(("time_s", "shown"), [(0, "0:00.0"), (59.96, "1:00.0"), (64.31, "1:04.3")])
def test_a_clock_never_shows_sixty_seconds(time_s: float, shown: str) -> None:
    """Rounding carries into the minutes."""
    assert clock(time_s) == shown


@pytest.mark.parametrize("text", ["R", "b9", "9", "#9", "b3", "3", "11", "#11", "b5", "13", "bb7"])
def test_degrees_print_what_they_read(text: str) -> None:
    """Parse then print is identity."""
    assert str(Degree.parse(text)) == text


@pytest.mark.parametrize("text", ["", "1", "0", "14", "x9", "b", "9b", "R9"])
def test_what_is_no_degree_is_refused(text: str) -> None:
    """The sentence shows examples."""
    with pytest.raises(ValueError, match="not a degree"):
        Degree.parse(text)


@pytest.mark.parametrize("beat", [Fraction(1, 2), Fraction(10, 7)])
def test_a_position_lies_on_a_playable_place(beat: Fraction) -> None:
    """Beats count from 1, in parts that music uses."""
    with pytest.raises(ValueError, match="beat must be"):
        Position(bar=1, beat=beat)


def test_files_are_whole_or_absent(tmp_path: Path) -> None:
    """A failure while writing leaves the old file and no litter."""
    target = tmp_path / "out.txt"
    write_text(target, "first")
    with pytest.raises(RuntimeError):
        _fail_half_way(target)
    assert target.read_text() == "first"
    assert [path.name for path in tmp_path.iterdir()] == ["out.txt"]


def _fail_half_way(target: Path) -> None:
    with beside(target) as temporary:
        temporary.write_text("half")
        raise RuntimeError


def test_a_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    """Writing below a file is a complaint, not a traceback."""
    (tmp_path / "taken").write_text("")
    with pytest.raises(Complaint, match="cannot write"):
        write_text(tmp_path / "taken" / "out.txt", "x")


def _note(midi: int, onset_s: float) -> Note:
    return Note(onset_s=onset_s, offset_s=onset_s + 1, midi=midi, velocity=70, confidence=1.0)


def test_notes_per_beat_follow_the_position_of_their_attack() -> None:
    """A chord played just before its beat belongs to that beat; a silent beat is empty."""
    early, late = _note(60, 0.98), _note(64, 2.25)
    attacks = tuple(
        Attack(onset_s=note.onset_s, spread_s=0.0, struck=(note,), position=place)
        for note, place in [
            (early, Position(bar=1, beat=Fraction(2))),
            (late, Position(bar=2, beat=Fraction(3, 2))),
        ]
    )
    beats = tuple(Beat(time_s=float(i), number=i % 2 + 1) for i in range(4))
    take = Take(
        source=Source(name="x", duration_s=4.0, sha256=""),
        ear="none",
        tuning_cents=0.0,
        grid=BeatGrid(beats=beats, tempo_bpm=60.0, beats_per_bar=2, source="heard"),
        notes=(early, late),
        attacks=attacks,
        voicings=(),
        motions=(),
        version="0",
    )
    rows = notes_per_beat(take)
    assert [[note.midi for note in row.notes] for row in rows] == [[], [60], [64], []]
    assert [row.position.bar for row in rows] == [1, 1, 2, 2]
