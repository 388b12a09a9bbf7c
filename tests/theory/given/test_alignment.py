"""Voicings under given changes: placement, anticipation, substitutions."""

import random

import pytest

from stackline.shared.notes import BeatGrid
from stackline.theory.reading import Reading, read
from stackline.theory.sheet.changes import place_chords
from stackline.theory.sheet.changes_text import parse_changes
from tests.support.takes.played import attack, attacks, grid

DM9, G13, CMAJ9 = (53, 57, 60, 64), (53, 57, 59, 64), (52, 55, 59, 62)
CHANGES = parse_changes("| Dm7 | G7 | Cmaj7 | % |")


def symbols(reading: Reading) -> list[str]:
    """The symbol of each voicing."""
    return [voicing.chord.symbol.text for voicing in reading.voicings]


def test_chords_follow_the_bars() -> None:
    """The symbols are those on paper, with the bars' times, and surely so."""
    found = read(attacks(DM9, G13, CMAJ9, CMAJ9), grid(), changes=CHANGES, end_s=8.0)
    assert symbols(found) == ["Dm7", "G7", "Cmaj7", "Cmaj7"]
    assert [(v.chord.start_s, v.chord.end_s) for v in found.voicings] == [
        (0.0, 2.0), (2.0, 4.0), (4.0, 6.0), (6.0, 8.0),
    ]  # fmt: skip
    assert all(v.chord.source == "changes" and v.chord.confidence > 0.9 for v in found.voicings)
    assert [str(degree) for degree in found.voicings[1].stack] == ["b7", "9", "3", "13"]


def test_without_a_pulse_chords_follow_in_order() -> None:
    """No grid: the notes alone decide how long each chord lasts."""
    stacks = attacks(DM9, DM9, G13, CMAJ9)
    found = read(stacks, BeatGrid(), changes=CHANGES, end_s=9.0)
    assert symbols(found) == ["Dm7", "Dm7", "G7", "Cmaj7"]


def test_an_attack_half_a_beat_early_belongs_to_the_chord_to_come() -> None:
    """G13 on the "and" of four is an anticipation, not a wrong Dm7."""
    stacks = [attack(0.0, DM9), attack(1.75, G13), attack(4.0, CMAJ9)]
    found = read(stacks, grid(), changes=CHANGES, end_s=8.0)
    assert symbols(found) == ["Dm7", "G7", "Cmaj7"]


def test_a_take_may_start_inside_the_form() -> None:
    """Beginning on the second bar is found by the notes."""
    found = read(attacks(G13, CMAJ9, CMAJ9, DM9, G13), grid(), changes=CHANGES, end_s=10.0)
    assert symbols(found) == ["G7", "Cmaj7", "Cmaj7", "Dm7", "G7"]


def test_a_tritone_substitute_is_named() -> None:
    """Db13 under G7 keeps its symbol on paper, and the alternative says what it is."""
    stacks = attacks(DM9, (49, 56, 59, 63, 65), CMAJ9, CMAJ9)
    found = read(stacks, grid(), changes=CHANGES, end_s=8.0)
    assert symbols(found)[1] == "G7"
    twin = found.voicings[1].chord.alternatives[0]
    assert twin.symbol.text == "Db9"
    assert twin.reason.endswith("Db9: tritone substitute, for G7")


def test_a_side_slip_is_named_and_unsure() -> None:
    """Dm9 up a semitone on a weak beat is no Dm7, and says so."""
    stacks = [attack(0.0, DM9), attack(1.0, tuple(p + 1 for p in DM9)), attack(1.5, DM9),
              attack(2.0, G13), attack(4.0, CMAJ9)]  # fmt: skip
    found = read(stacks, grid(), changes=CHANGES, end_s=8.0)
    slip = found.voicings[1]
    assert slip.chord.symbol.text == "Dm7"
    assert slip.chord.confidence < 0.1
    assert "side-slip a semitone above, for Dm7" in slip.chord.alternatives[0].reason


def test_a_rest_leaves_the_reading_to_the_notes() -> None:
    """Under N.C. a voicing is named as heard."""
    changes = parse_changes("| Dm7 | N.C. | Cmaj7 | % |")
    found = read(attacks(DM9, G13, CMAJ9, CMAJ9), grid(), changes=changes, end_s=8.0)
    assert [v.chord.source for v in found.voicings] == ["changes", "heard", "changes", "changes"]


def test_twice_through_the_form() -> None:
    """The form starts again from the top."""
    stacks = attacks(DM9, G13, CMAJ9, CMAJ9, DM9, G13, CMAJ9, CMAJ9)
    found = read(stacks, grid(), changes=CHANGES, end_s=16.0)
    assert symbols(found) == ["Dm7", "G7", "Cmaj7", "Cmaj7"] * 2


def test_resolutions_are_judged_over_the_given_chords() -> None:
    """Two bars of the same chord owe nothing; the V before I does."""
    found = read(attacks(DM9, G13, CMAJ9, CMAJ9), grid(), changes=CHANGES, end_s=8.0)
    assert [len(motion.resolutions) for motion in found.motions] == [0, 4, 0]


def test_a_seventh_that_hangs_over_the_one_is_late() -> None:
    """The C over Cmaj7 at its start still holds the F of G7; it comes down to E within the bar."""
    hangs, home = (53, 55, 60, 62), (52, 55, 59, 62)
    stacks = [attack(0.0, DM9), attack(2.0, G13), attack(4.0, hangs), attack(5.0, home)]
    found = read(stacks, grid(), changes=CHANGES, end_s=8.0)
    assert symbols(found) == ["Dm7", "G7", "Cmaj7", "Cmaj7"]
    outcomes = {str(one.degree): one.outcome for one in found.motions[1].resolutions}
    assert outcomes["b7"] == "late"


@pytest.mark.parametrize("seed", range(6))
def test_anticipated_playing_does_not_slide_the_form(seed: int) -> None:
    """A third of the chords half a beat early, two choruses: each chord on its own beat."""
    rng = random.Random(seed)
    changes = parse_changes("| Dm7 | G7 | Cmaj7 | % | Fm7 | Bb7 | Ebmaj7 | Dm7 G7 |")
    stacks = {"Dm7": DM9, "G7": G13, "Cmaj7": CMAJ9, "Fm7": (56, 60, 63, 67),
              "Bb7": (56, 60, 62, 67), "Ebmaj7": (55, 58, 62, 65)}  # fmt: skip
    placed = [
        (turn * 32 + one.bar * 4 + float(one.beat), one.symbol.text)
        for turn in (0, 1)
        for one in place_chords(changes, 4)
        if one.symbol is not None
    ]
    early = [rng.random() < 1 / 3 for _ in placed]
    struck = [
        attack(2.0 + (beat - 0.5 * soon) * 0.5, stacks[text])
        for (beat, text), soon in zip(placed, early, strict=True)
    ]
    found = read(struck, grid(), changes=changes, end_s=40.0)
    assert symbols(found) == [text for _, text in placed]
    starts = [voicing.chord.start_s for voicing in found.voicings]
    assert starts == [pytest.approx(2.0 + beat * 0.5) for beat, _ in placed]


def test_the_bars_of_the_form_fall_on_the_bars_of_the_grid() -> None:
    """First struck on beat two: the form still begins on beat one."""
    stacks = [attack(0.5, DM9), attack(2.5, G13), attack(4.5, CMAJ9), attack(6.5, CMAJ9)]
    found = read(stacks, grid(), changes=CHANGES, end_s=8.0)
    assert [voicing.chord.start_s for voicing in found.voicings] == [0.0, 2.0, 4.0, 6.0]


def test_an_innocent_dominant_is_no_tritone_substitute() -> None:
    """G13 and G7alt without a root share Db's guide tones; nothing in the playing says Db."""
    for stack in (G13, (53, 56, 59, 63)):
        found = read(attacks(DM9, stack, CMAJ9, CMAJ9), grid(), changes=CHANGES, end_s=8.0)
        assert "tritone" not in " ".join(one.reason for one in found.voicings[1].chord.alternatives)


def test_a_pickup_is_asked_about_once() -> None:
    """The G7 before the first bar is the pickup's; the second time round bar four holds there."""
    changes = parse_changes("pickup: G7 / | Dm7 | G7 | Cmaj7 | % |")
    stacks = [attack(1.0, G13), *(attack(2.0 + 2.0 * i, s) for i, s in
                                  enumerate((DM9, G13, CMAJ9, CMAJ9, DM9)))]  # fmt: skip
    found = read(stacks, grid(), changes=changes, end_s=14.0)
    assert symbols(found) == ["G7", "Dm7", "G7", "Cmaj7", "Cmaj7", "Dm7"]
    assert found.voicings[0].chord.start_s == pytest.approx(1.0)
