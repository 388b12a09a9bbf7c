"""What a line plays over a voicing: its degree, and what is no part of the voicing."""

from dataclasses import replace

from stackline.shared.notes import Attack, BeatGrid, Note
from stackline.theory.chords.symbols import parse_symbol
from stackline.theory.reading import read
from stackline.theory.stacks.line_over import line_notes, line_tones
from tests.support.takes.played import attack

G13 = (53, 57, 59, 64)  # b7 9 3 13


def _with_line(onset_s: float, chord: tuple[int, ...], *line: int) -> Attack:
    made = attack(onset_s, (*chord, *line))
    struck = tuple(replace(n, line=0.97 if n.midi in line else 0.01) for n in made.struck)
    return replace(made, struck=struck)


def test_degrees_of_a_line_over_a_dominant() -> None:
    """Over G13: D is the 5, Ab the b9, Bb the #9 beside the major third (common practice)."""
    tones = line_tones(parse_symbol("G13"), G13, (74, 68, 70, 79))
    assert [str(tone.degree) for tone in tones] == ["5", "b9", "#9", "R"]
    assert [tone.name for tone in tones] == ["D5", "Ab4", "A#4", "G5"]


def test_a_voicing_is_read_without_the_line_over_it() -> None:
    """Dm9, G13 under a D, Cmaj9: stack, top and doublings are the comping's."""
    plain = [attack(0.0, (53, 57, 60, 64)), attack(2.0, G13), attack(4.0, (52, 55, 59, 62))]
    lined = [_with_line(0.0, (53, 57, 60, 64), 77), _with_line(2.0, G13, 74),
             _with_line(4.0, (52, 55, 59, 62), 79)]  # fmt: skip
    without = read(plain, BeatGrid(), end_s=6.0).voicings
    found = read(lined, BeatGrid(), end_s=6.0).voicings
    assert [one.stack for one in found] == [one.stack for one in without]
    assert [one.structures for one in found] == [one.structures for one in without]
    assert [one.top.midi for one in found] == [64, 64, 62]
    assert [[str(tone.degree) for tone in one.under] for one in found] == [["b3"], ["5"], ["5"]]
    assert all(not one.under for one in without)


def test_a_line_alone_makes_no_voicing() -> None:
    """Not even where its notes overlap."""
    notes = [_with_line(0.25 * i, (), 72 + i) for i in range(8)]
    assert read(notes, BeatGrid(), end_s=4.0).voicings == ()


def test_notes_of_a_line_are_over_the_voicing_before_them() -> None:
    """A pickup is over the first voicing, a note struck with a voicing over that."""
    attacks = [_with_line(0.0, (), 74), _with_line(0.5, G13, 76), _with_line(1.0, (), 77),
               _with_line(2.0, (52, 55, 59, 62), 79)]  # fmt: skip
    voicings = read(attacks, BeatGrid(), end_s=4.0).voicings
    assert [one.over for one in line_notes(attacks, voicings)] == [0, 0, 0, 1]
    (alone,) = line_notes(attacks[:1], ())
    assert (alone.tone, alone.name) == (None, "D5")


def test_doubt_about_whose_a_note_is_makes_a_voicing_unsure() -> None:
    """A top note that is the line's with six chances in ten."""
    made = attack(0.0, (*G13, 74))
    shaky = replace(made, struck=tuple(replace(n, line=0.4 * (n.midi == 74)) for n in made.struck))
    sure, unsure = (read([one], BeatGrid(), end_s=2.0).voicings[0] for one in (made, shaky))
    assert unsure.pitches == sure.pitches
    assert unsure.confidence < 0.65 < sure.confidence


def test_a_held_note_of_a_line_is_no_part_of_the_next_voicing() -> None:
    """It is shown over it."""
    ringing = Note(onset_s=0.0, offset_s=4.0, midi=76, velocity=70, confidence=0.98, line=0.95)
    first = replace(_with_line(0.0, (53, 57, 60, 64)), struck=(
        *_with_line(0.0, (53, 57, 60, 64)).struck, ringing))  # fmt: skip
    second = replace(attack(1.0, G13), held=(ringing,))
    _, voicing = read([first, second], BeatGrid(), end_s=4.0).voicings
    assert voicing.pitches == G13
    assert [tone.midi for tone in voicing.under] == [76]
