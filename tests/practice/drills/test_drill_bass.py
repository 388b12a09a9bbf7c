"""A bass under a drill: roots where a bass has them, two to the bar, or walking."""

import io
from itertools import pairwise

import mido
import pretty_midi
import pytest

from stackline.practice.drills.drill import Drill, make_drill
from stackline.practice.drills.drill_bass import HIGHEST, bass_notes
from stackline.practice.drills.drill_midi import TICKS, render, render_all
from stackline.practice.targets.target_text import parse_target
from stackline.shared.complaint import Complaint
from stackline.theory.chords.root_under import LOWEST, root_key

TEXT = "IIm9: b3 5 b7 9 > V13(b9): b7 b9 3 13 > I6/9: 3 5 6 9"


def _drill(text: str = TEXT, keys: tuple[int, ...] = tuple(range(12))) -> Drill:
    return make_drill(parse_target(text), list(keys))


def _roots(drill: Drill) -> dict[int, int]:
    """Beat of each chord, and the pitch class that its symbol begins with."""
    letters = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    found = {}
    for one in drill.struck():
        root = one.chord.symbol(drill.keys[one.key].key).root
        shift = root.count("#") - root.count("b")
        found[int(one.start)] = (letters[root[0]] + shift) % 12
    return found


@pytest.mark.parametrize("style", ["roots", "two", "walk"])
def test_the_first_note_of_each_chord_is_its_root_between_e1_and_e_flat_2(style: str) -> None:
    """Common practice; E1 is the lowest string of a double bass, MIDI 28."""
    drill = _drill()
    at = {one.start: one for one in bass_notes(drill, style)}
    for beat, root in _roots(drill).items():
        assert at[beat].pitch % 12 == root  # type: ignore[index]
        assert 28 <= at[beat].pitch <= 39  # type: ignore[index]


def test_a_bass_has_one_place_for_each_root() -> None:
    """E is the lowest, Eb the highest: E1 = 28 to Eb2 = 39."""
    assert [root_key(pc) for pc in (4, 5, 0, 3)] == [28, 29, 36, 39]


def test_a_walking_bass_moves_on_each_beat_and_leads_by_a_half_step_or_a_fifth() -> None:
    """Common practice of walking bass: no note twice in a row inside a key, a lead at the end."""
    drill = _drill()
    notes = bass_notes(drill, "walk")
    roots = _roots(drill)
    assert all(LOWEST <= one.pitch <= HIGHEST for one in notes)
    for before, after in pairwise(notes):
        if int(after.start) in roots:
            assert abs(after.pitch - before.pitch) in (1, 5, 7), (before, after)
        else:
            assert before.pitch != after.pitch
    assert {one.beats for one in notes} == {1}


def test_in_two_the_root_and_the_fifth_of_a_half_diminished_chord_is_flat() -> None:
    """D half-diminished: D and Ab."""
    notes = bass_notes(_drill("IIm7b5 | V7(b9) | Im6", (0,)), "two")
    assert [one.pitch % 12 for one in notes[:2]] == [2, 8]


def test_the_bass_is_a_track_of_its_own_that_another_reader_hears() -> None:
    """pretty_midi finds the General MIDI acoustic bass (program 33, from 0: 32)."""
    drill = _drill(keys=(0, 5))
    file = pretty_midi.PrettyMIDI(io.BytesIO(render(drill, bass="roots")))
    bass = [one for one in file.instruments if one.program == 32 and not one.is_drum]
    assert len(bass) == 1
    assert [note.pitch for note in bass[0].notes] == [38, 31, 36, 31, 36, 29]
    without = pretty_midi.PrettyMIDI(io.BytesIO(render(drill)))
    assert all(one.program != 32 for one in without.instruments)


def test_bars_for_an_answer_have_no_bass() -> None:
    """Only the metronome plays there."""
    drill = make_drill(parse_target(TEXT), [0], answer=True)
    assert max(one.start + one.beats for one in bass_notes(drill, "walk")) == 16


def test_drills_one_after_another_keep_their_tempi() -> None:
    """Two drills in one file: the second begins, with its tempo, where the first ends."""
    first = make_drill(parse_target(TEXT), [0], tempo_bpm=60)
    second = make_drill(parse_target(TEXT), [5], tempo_bpm=120)
    file = pretty_midi.PrettyMIDI(io.BytesIO(render_all([first, second], bass="walk")))
    _, tempi = file.get_tempo_changes()
    assert list(tempi.round(3)) == [60, 120]
    assert file.get_end_time() == pytest.approx(16 + 8, abs=0.2)
    ticks = mido.MidiFile(file=io.BytesIO(render_all([first, second]))).ticks_per_beat
    assert ticks == TICKS


def test_another_style_is_refused_by_name() -> None:
    """One sentence that says what is allowed."""
    with pytest.raises(Complaint, match="allowed are roots, two, walk and off"):
        bass_notes(_drill(), "slap")
