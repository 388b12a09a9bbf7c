"""Line and comping apart: scenes written by hand, old fiddle tunes, chorales for four voices."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from bench.sorting.lines import fiddle_tunes
from fixtures.played.lines.line_players import Way
from fixtures.played.lines.line_takes import add_line, as_heard, block_chorus, left_hand, line_alone
from fixtures.played.takes import LISTED, make_take
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.line_notes import with_line
from stackline.shared.notes import Attack, Note

# Dm9, G13, C6/9 as a left hand plays them (common practice), two bars at 120, a chord a bar and
# its last in the third; over them a line in eighths.
CHORDS = ((53, 57, 60, 64), (53, 57, 59, 64), (52, 57, 62, 64))
LINE = (74, 76, 77, 79, 81, 79, 77, 76, 74, 71, 69, 67, 65, 68, 71, 74, 76)


def _note(onset_s: float, midi: int, length_s: float) -> Note:
    return Note(
        onset_s=onset_s, offset_s=onset_s + length_s, midi=midi, velocity=70, confidence=0.98
    )


def _comping(length_s: float = 1.7) -> list[Note]:
    return [_note(2.0 * i, midi, length_s) for i, chord in enumerate(CHORDS) for midi in chord]


def _marked(notes: Sequence[Note]) -> tuple[Attack, ...]:
    return with_line(find_attacks(notes))


def test_a_line_over_a_left_hand_leaves_its_chords_whole() -> None:
    """Each chord keeps its four notes; each note of the line is the line's."""
    line = [_note(0.25 * i, midi, 0.24) for i, midi in enumerate(LINE)]
    attacks = _marked([*_comping(), *line])
    chords = [tuple(n.midi for n in one.comped) for one in attacks if one.comped]
    assert chords == [tuple(sorted(chord)) for chord in CHORDS]
    assert [n.midi for one in attacks for n in one.line] == list(LINE)


def test_the_same_chords_without_a_line_have_none() -> None:
    """Nothing is taken from comping."""
    assert not any(one.line for one in _marked(_comping()))


def test_a_slow_melody_over_held_chords_is_a_line() -> None:
    """Three long notes a bar over chords that stay down."""
    melody = [_note(0.1 + 0.65 * i, 72 + (0, 2, 4, 5, 4, 2)[i % 6], 0.6) for i in range(9)]
    attacks = _marked([*_comping(1.95), *melody])
    assert sum(len(one.line) for one in attacks) >= 8
    assert all(len(one.comped) in (0, 4) for one in attacks)


def test_every_note_is_of_one_attack_and_chances_are_chances() -> None:
    """The notes are those that came, in their order."""
    notes = as_heard(add_line(left_hand(3), "motifs", 3))
    attacks = find_attacks(notes)
    marked = with_line(attacks)
    assert [replace(n, line=0.0) for one in marked for n in one.struck] == [
        n for one in attacks for n in one.struck
    ]
    assert all(0.0 <= note.line <= 1.0 for one in marked for note in one.struck)
    assert find_attacks([n for one in marked for n in one.struck]) == marked
    assert with_line(()) == ()


def test_a_note_is_no_likelier_of_a_line_than_one_struck_above_it() -> None:
    """A line lies on top."""
    for attack in _marked(as_heard(add_line(left_hand(4), "chord tones", 4))):
        chances = [note.line for note in attack.struck]
        assert chances == sorted(chances)


@pytest.fixture(scope="module")
def tunes() -> Way:
    """Twelve tunes of a collection of 1883."""
    return fiddle_tunes(12)


@pytest.mark.parametrize("seed", [5, 6, 7])
def test_a_fiddle_tune_over_comping(tunes: Way, seed: int) -> None:
    """Of the comping's attacks nine in ten keep exactly their notes; the tune is the line."""
    bare = left_hand(seed)
    attacks = _marked(as_heard(add_line(bare, tunes, seed)))
    kept = {tuple(n.midi for n in one.comped) for one in attacks if one.comped}
    meant = [one.pitches for one in bare.attacks if len(one.pitches) > 1]
    assert np.mean([pitches in kept for pitches in meant]) >= 0.9


def test_a_fiddle_tune_alone_is_a_line_throughout(tunes: Way) -> None:
    """Nothing of it is comping."""
    attacks = _marked(as_heard(line_alone(8, tunes)))
    assert attacks
    assert not any(one.comped for one in attacks)


def test_block_chords_stay_whole() -> None:
    """A melody of which every note is harmonised, in three makings."""
    for seed in (9, 10, 11, 12):
        attacks = _marked(as_heard(block_chorus(seed, "scales")))
        assert np.mean([not one.line for one in attacks]) >= 0.97


def test_chorales_stay_nearly_whole() -> None:
    """Chorales by J. S. Bach (music21's corpus): no comping, and voices that move one by one."""
    from music21 import corpus

    whole = []
    for name in ("bach/bwv269", "bach/bwv347", "bach/bwv153.1"):
        notes = [
            _note(0.55 * float(n.offset), n.pitch.midi, 0.5 * float(n.quarterLength))
            for part in corpus.parse(name).parts
            for n in part.flatten().notes
        ]
        whole += [not one.line for one in _marked(notes) if len(one.struck) >= 3]
    assert len(whole) > 100
    assert np.mean(whole) >= 0.85


def test_comping_of_two_hands_has_no_line() -> None:
    """Made takes without one."""
    for seed in (13, 14, 15):
        attacks = _marked(as_heard(make_take(seed, LISTED)))
        lost = [one for one in attacks if len(one.struck) > 1 and one.line]
        assert not lost
