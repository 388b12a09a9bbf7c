"""The pedal is claimed only where hands cannot hold what sounds.

Reaches are common practice (an octave all hands, a tenth most, none beyond a tenth and a tone).
Measured outside on two performances by people: one whose notes end with their keys, so that no
pedal is in them (24 s, 167 attacks), has no span; one with the pedal in its ends (125 s) has 27.
"""

from fractions import Fraction

from stackline.theory.stacks.pedal import pedal_spans
from tests.support.takes.played import attack
from tests.support.takes.played_takes import grid_of, struck, take_of

LOW, HIGH = (36, 43, 52), (72, 76, 79, 84)


def test_a_bass_chord_that_rings_under_two_far_hands_is_held_by_a_pedal() -> None:
    """Left hand at C2, then both hands four octaves higher while it rings."""
    notes = struck(LOW, Fraction(0), 4) + struck((*HIGH, 96), Fraction(2), 2)
    (span,) = pedal_spans(take_of(notes, grid_of(8)).attacks)
    assert span[0] <= notes[0].onset_s + 0.02
    assert abs(span[1] - notes[0].offset_s) < 0.1


def test_what_two_hands_hold_needs_no_pedal() -> None:
    """A root that is touched low while a chord of one hand rings."""
    notes = struck((52, 55, 59, 62), Fraction(0), 4) + struck((36,), Fraction(1), 3)
    assert pedal_spans(take_of(notes, grid_of(8)).attacks) == ()


def test_what_ends_with_the_next_chord_needs_no_pedal() -> None:
    """Connected playing: the chord before is let go just after the next one."""
    notes = struck(LOW, Fraction(0), 2.05) + struck((*HIGH, 96), Fraction(2), 2)
    assert pedal_spans(take_of(notes, grid_of(8)).attacks) == ()


def test_what_ends_a_sixth_of_a_second_later_rings_on() -> None:
    """A hundredth over the limit it is the pedal's; two hundredths under it is the finger's."""
    for late_s, spans in ((0.17, 1), (0.13, 0)):
        low = attack(0.0, LOW, length_s=2.0 + late_s).struck
        assert len(pedal_spans([attack(2.0, (*HIGH, 96), held=low)])) == spans


def test_two_chords_over_one_ringing_bass_are_one_pedal() -> None:
    """The foot stays down: one stretch to the end of the bass, not two that overlap."""
    notes = struck(LOW, Fraction(0), 6)
    for beat in (2, 4):
        notes += struck((*HIGH, 96), Fraction(beat), 1)
    assert len(pedal_spans(take_of(notes, grid_of(8)).attacks)) == 1
