"""The score of a take: every note once, bars filled, signs that read back to the pitch."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings

from stackline.report.score.score_layout import lay_out
from stackline.report.score.score_model import LEFT, RIGHT
from stackline.shared.notes import Attack, Position
from stackline.shared.take import Take
from tests.support.readers.score_laws import check_laws, items, starts
from tests.support.takes.played_takes import grid_of, played_takes, struck, take_from, take_of
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take

TAKES = {"sample": sample_take, "gridless": gridless_take, "long": lambda: long_take(60)}


@pytest.mark.parametrize("name", TAKES)
def test_laws_hold_for_the_samples(name: str) -> None:
    """Notes, bars, signs and ties of the hand-made takes."""
    check_laws(TAKES[name]())


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(played_takes())
def test_laws_hold_for_whatever_is_played(take: Take) -> None:
    """Notes, bars, signs and ties of random playing, with a pulse and without."""
    check_laws(take)


def test_attacks_stand_where_they_were_placed() -> None:
    """Positions of the sample become places on paper."""
    take = sample_take()
    expected = sorted(
        (4 * (attack.position.bar - 1) + attack.position.beat - 1, note.midi)
        for attack in take.attacks
        if attack.position is not None
        for note in attack.struck
    )
    assert starts(lay_out(take)) == expected


def test_notes_stand_on_the_staff_of_their_hand() -> None:
    """The two-handed voicing of bar 5: F and C below, four notes above."""
    bar = lay_out(sample_take()).bars[4]
    first = {staff: bar.staff_lines(staff)[0].items[0] for staff in (RIGHT, LEFT)}
    assert [head.midi for head in first[LEFT].heads] == [53, 60]
    assert [head.midi for head in first[RIGHT].heads] == [64, 69, 72, 77]


def test_a_held_note_is_tied_into_the_next_voicing() -> None:
    """The C that Dbmaj13 holds from Ab13(b9) is one note, tied over the bar line."""
    score = lay_out(sample_take())
    third = score.bars[2].staff_lines(LEFT)[0].items[0]
    held = [head for head in third.heads if head.midi == 60]
    assert held[0].tied_in
    assert [(Fraction(4), 60)] == [one for one in starts(score) if one[1] == 60 and one[0] < 16]


def test_a_touched_root_has_a_line_of_its_own() -> None:
    """The low root under the ringing chord stands in a second line, and the chord goes on."""
    lines = lay_out(sample_take()).bars[1].staff_lines(LEFT)
    assert [line.number for line in lines] == [1, 2]
    assert lines[0].items[0].length == 4
    assert [head.midi for item in lines[1].items for head in item.heads] == [32]
    assert all(item.spacer for item in lines[1].items if not item.heads)


def test_the_signature_follows_the_key() -> None:
    """A ii-V-I in Db, then one in C: five flats, then none (signatures: common practice)."""
    assert [bar.fifths for bar in lay_out(sample_take()).bars] == [-5] * 4 + [0] * 3


def test_a_doubtful_name_carries_its_runner_up() -> None:
    """The unsure chord of bar 5 is marked, and shows what else it may be."""
    marks = [mark for bar in lay_out(sample_take()).bars for mark in bar.symbols]
    unsure = [(mark.symbol.text, mark.alternative and mark.alternative.text) for mark in marks
              if mark.unsure]  # fmt: skip
    assert unsure == [("G7(b9,b13)", "Db9")]
    assert [mark.rootless for mark in marks] == [True, True, True, True, True, False]


def test_the_top_line_is_marked_once_a_voicing() -> None:
    """Top notes are those of the take's voicings, and the stack marks the same degree."""
    take = sample_take()
    score = lay_out(take)
    tops = [head.midi for _, _, item in sorted(items(score), key=lambda row: row[0])
            for head in item.heads if head.top and not head.tied_in]  # fmt: skip
    assert tops == [voicing.top.midi for voicing in take.voicings]
    stacks = [stack for bar in score.bars for stack in bar.stacks]
    assert [stack.words[stack.top] for stack in stacks] == [
        str(voicing.top.degree) for voicing in take.voicings
    ]


def test_without_a_grid_every_attack_is_a_slot() -> None:
    """One slot an attack, named by its time, without a meter to count."""
    take = gridless_take()
    score = lay_out(take)
    assert not score.barred
    assert [bar.length for bar in score.bars] == [1] * len(take.attacks)
    assert score.bars[0].place == "0:00.5"


def test_nothing_heard_gives_no_bars() -> None:
    """A silent take has an empty score."""
    assert lay_out(empty_take()).bars == ()


def test_swing_is_written_straight_with_the_word() -> None:
    """Off-beats on the last third become eighths; a beat with a true triplet stays one."""
    chord = (53, 57, 60, 64)
    places = [
        Fraction(0),
        Fraction(5, 3),
        Fraction(11, 3),
        Fraction(17, 3),
        Fraction(8),
        Fraction(25, 3),
        Fraction(26, 3),
    ]
    notes = [note for place in places for note in struck(chord, place, 0.3)]
    score = lay_out(take_of(notes, grid_of(20)))
    assert score.swung
    assert [start for start, midi in starts(score) if midi == 53] == [
        Fraction(0),
        Fraction(3, 2),
        Fraction(7, 2),
        Fraction(11, 2),
        Fraction(8),
        Fraction(25, 3),
        Fraction(26, 3),
    ]


def test_straight_eighths_are_not_called_swing() -> None:
    """The same on the half beat has no such word."""
    notes = [
        note for i in range(4) for note in struck((53, 57, 60, 64), Fraction(4 * i + 3, 2), 0.3)
    ]
    assert not lay_out(take_of(notes, grid_of(20))).swung


def test_a_pickup_is_a_short_bar() -> None:
    """Music that begins on the last beat before the first downbeat: one beat, not counted."""
    grid = grid_of(12, per_bar=4, first=4)
    before, after = (53, 57, 60, 64), (55, 59, 62, 65)
    notes = struck(before, Fraction(0), 0.9) + struck(after, Fraction(1), 2)
    score = lay_out(take_of(notes, grid))
    assert [(bar.number, bar.length, bar.pickup) for bar in score.bars] == [
        (0, 1, True),
        (1, 4, False),
    ]


def test_two_attacks_never_share_a_place() -> None:
    """Two attacks heard at one place keep their order and all their notes."""
    first, second = (
        struck((53, 57, 60), Fraction(0), 0.4),
        struck((53, 58, 62), Fraction(1, 10), 0.5),
    )
    place = Position(bar=1, beat=Fraction(1))
    attacks = tuple(
        Attack(onset_s=row[0].onset_s, spread_s=0.0, struck=tuple(row), position=place)
        for row in (first, second)
    )
    score = lay_out(take_from((*first, *second), attacks, grid_of(8), name="close.wav"))
    assert starts(score) == [(Fraction(0), m) for m in (53, 57, 60)] + [
        (Fraction(1, 4), m) for m in (53, 58, 62)
    ]


def test_high_left_hands_get_a_treble_clef() -> None:
    """A left-hand bar around A4 is written in treble clef, one around A3 in bass clef."""
    high = struck((66, 69, 72, 74), Fraction(0), 2)
    low = struck((53, 57, 60, 64), Fraction(4), 2)
    score = lay_out(take_of(high + low, grid_of(8)))
    assert [bar.clefs[1] for bar in score.bars] == ["treble", "bass"]


def test_double_accidentals_are_written_plainly() -> None:
    """The b9 of Ab13(b9), Bbb by its degree, is an A on paper."""
    take = sample_take()
    assert take.voicings[1].top.name == "Bbb4"
    head = lay_out(take).bars[1].staff_lines(RIGHT)[0].items[0].heads[-1]
    assert (head.step, head.alter, head.octave, head.midi) == ("A", 0, 4, 69)


def test_a_broken_name_does_not_move_a_note() -> None:
    """A name that is not that pitch's is replaced by one that is."""
    take = sample_take()
    voicing = take.voicings[0]
    wrong = tuple(replace(tone, name="H9") for tone in voicing.tones)
    take = replace(take, voicings=(replace(voicing, tones=wrong), *take.voicings[1:]))
    check_laws(take)


def test_a_last_chord_that_rings_a_little_over_ends_at_the_bar_line() -> None:
    """No tail bar of a tied eighth; one that rings on for long has its bars."""
    chord = (53, 57, 60, 64)
    over = take_of(struck(chord, Fraction(0), 4.6), grid_of(8))
    assert [bar.number for bar in lay_out(over).bars] == [1]
    long = take_of(struck(chord, Fraction(0), 7.0), grid_of(8))
    assert [bar.number for bar in lay_out(long).bars] == [1, 2]
