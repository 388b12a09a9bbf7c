"""Resolutions: what is due, and the five outcomes."""

import pytest

from stackline.theory.chords.degrees import semitones
from stackline.theory.motion.motion import motions
from stackline.theory.motion.resolution_rules import shifts_due
from stackline.theory.motion.resolutions import degree_in
from stackline.theory.motion.tally import Count, tally
from tests.support.takes.played import voicings

G13B9 = ("G13(b9)", (53, 59, 64, 68))  # b7 3 13 b9


def outcomes(*pairs: tuple[str, tuple[int, ...]]) -> dict[str, tuple[str, str | None]]:
    """Degree -> (outcome, where to) of the first motion."""
    found = motions(voicings(*pairs), None)[0].resolutions
    return {str(one.degree): (one.outcome, str(one.to) if one.to else None) for one in found}


def test_a_dominant_lands_in_major() -> None:
    """b7 to 3, 3 stays as the 7, 13 to 9, b9 to 5 (ii-V-I voice leading as taught everywhere)."""
    assert outcomes(G13B9, ("Cmaj9", (52, 59, 62, 67))) == {
        "b7": ("landed", "3"),
        "3": ("landed", "7"),
        "13": ("landed", "9"),
        "b9": ("landed", "5"),
    }


def test_a_missed_resolution_says_what_came_instead() -> None:
    """The b9 leaps to the 7: it did not land, and its voice went to the 7."""
    found = outcomes(G13B9, ("Cmaj9", (52, 57, 62, 71)))
    assert found["b9"] == ("not landed", "7")
    assert found["b7"] == ("landed", "3")


def test_the_note_that_stays_is_held() -> None:
    """The b7 kept over the new chord is held, not landed."""
    assert outcomes(G13B9, ("C6/9", (53, 57, 62, 67)))["b7"] == ("held", "11")


def test_the_right_note_in_another_octave() -> None:
    """The 5 is there, but an octave below the place where the b9 would land."""
    found = outcomes(G13B9, ("Cmaj9", (52, 55, 59, 62)))
    assert found["b9"] == ("other octave", "5")


def test_a_resolution_may_come_late() -> None:
    """Inside the next chord's span, after its first attack, is late."""
    found = outcomes(G13B9, ("Cmaj7", (53, 59, 62)), ("Cmaj7", (52, 59, 62, 67)))
    assert found["b7"] == ("late", "3")
    assert found["b9"] == ("late", "5")


def test_nothing_is_due_where_the_root_goes_elsewhere() -> None:
    """A blues I7 that goes to another place than a fifth or a semitone below owes nothing."""
    assert outcomes(("F9", (57, 60, 63, 67)), ("F13", (63, 67, 69, 74))) == {}
    assert outcomes(("F9", (57, 60, 63, 67)), ("Am9", (60, 64, 67, 71))) == {}
    assert outcomes(("Dm9", (53, 57, 60, 64)), ("G13", (53, 57, 59, 64))) == {}


def test_a_tritone_substitute_resolves_down_a_semitone() -> None:
    """Over Db13 before C, the 3 steps down and the b7 up; the 9 and 13 step down."""
    found = outcomes(("Db13", (53, 58, 59, 63)), ("Cmaj9", (52, 57, 60, 62)))
    assert found == {
        "3": ("landed", "3"),
        "13": ("landed", "13"),
        "b7": ("landed", "R"),
        "9": ("landed", "9"),
    }


def test_a_suspended_target_takes_the_b7_as_its_4() -> None:
    """Over Csus4 the F of G7 stays as the 4, and the 3 goes up to the root."""
    found = outcomes(("G7", (53, 59)), ("Csus4", (53, 60, 67)))
    assert found == {"b7": ("landed", "4"), "3": ("landed", "R")}


def test_a_suspended_chord_resolves_on_its_own_root() -> None:
    """G9sus to G13: the 4 falls to the 3 (common practice)."""
    found = outcomes(("G9sus", (60, 62, 65, 69)), ("G13", (59, 64, 65, 69)))
    assert found == {"4": ("landed", "3")}


def test_a_side_slip_owes_nothing() -> None:
    """A whole stack a semitone down is movement, not a resolution."""
    (move,) = motions(voicings(("Db9", (53, 56, 59, 63)), ("C9", (52, 55, 58, 62))), None)
    assert move.parallel is not None
    assert move.resolutions == ()


# Common practice: where each degree of V goes over I.
@pytest.mark.parametrize(
    ("target", "degree", "shifts"),
    [
        ("major", "b7", (-1,)), ("major", "b9", (-1,)), ("major", "9", (-2, 0)),
        ("minor", "b7", (-2,)), ("minor", "b13", (0, -1)), ("major", "13", (-2, 0)),
    ],
)  # fmt: skip
def test_the_table_of_shifts(target: str, degree: str, shifts: tuple[int, ...]) -> None:
    """A fifth below, in semitones."""
    assert shifts_due("dominant", target, 5)[degree] == shifts


def test_guide_tones_of_a_ii_v_i() -> None:
    """b3 stays as b7, b7 steps to 3, and so on down the line (T. Karlsson, lesson 53)."""
    line = voicings(
        ("Dm9", (53, 57, 60, 64)), ("G13", (53, 57, 59, 64)), ("Cmaj9", (52, 55, 59, 62))
    )
    first, second = motions(line, None)
    assert [(m.from_midi, m.to_midi) for m in first.guide_tones] == [(53, 53), (60, 59)]
    assert [(m.from_midi, m.to_midi) for m in second.guide_tones] == [(53, 52), (59, 59)]


def test_rates_have_denominators() -> None:
    """Overall, by degree and by the target's root; other octaves and late ones have landed."""
    line = voicings(
        G13B9, ("Cmaj9", (52, 57, 62, 71)), ("F13", (57, 62, 63, 67)), ("Bbmaj9", (57, 60, 62, 65))
    )
    counted = tally(motions(line, None), line)
    assert str(counted.overall) == "7 of 8"
    assert str(counted.by_degree["b9"]) == "0 of 1"
    assert counted.by_degree["b9"].outcomes == {"not landed": 1}
    assert {key: str(one) for key, one in counted.by_key.items()} == {"C": "3 of 4", "Bb": "4 of 4"}
    assert tally((), ()).overall.rate is None


I7, IV7, V7 = ("F13", (51, 57, 62, 67)), ("Bb9", (50, 56, 60, 65)), ("C13", (52, 58, 62, 69))


def due_at(line: list[tuple[str, tuple[int, ...]]]) -> list[bool]:
    """Whether anything is due, motion by motion."""
    return [bool(move.resolutions) for move in motions(voicings(*line), None)]


def test_the_i_of_a_blues_owes_nothing_to_the_iv() -> None:
    """I7 IV7 I7 is a change of place; V7 I7 still resolves (common practice)."""
    assert due_at([I7, IV7, I7, I7, IV7, I7, V7, I7]) == [
        False, False, False, False, False, False, True,
    ]  # fmt: skip


def test_a_i_that_was_made_a_v_resolves_to_the_iv() -> None:
    """Altered, or led into by its own ii, it is the V of the IV (common practice)."""
    altered, two = ("F7(#9,b13)", (57, 61, 63, 68)), ("Cm9", (51, 55, 58, 62))
    assert due_at([I7, IV7, I7, altered, IV7, I7])[3]
    assert due_at([I7, IV7, I7, two, I7, IV7, I7])[4]


def test_a_cycle_of_dominants_resolves_all_along() -> None:
    """No chord comes back, so none is at home."""
    assert due_at([I7, IV7, ("Eb13", (49, 55, 60, 65)), ("Ab9", (48, 54, 58, 63))]) == [True] * 3


def test_a_dominant_is_asked_where_it_is_last_struck() -> None:
    """Struck twice, it owes once; a I that is struck again can still bring it late."""
    moves = motions(
        voicings(G13B9, G13B9, ("Cmaj7", (53, 59, 62)), ("Cmaj7", (52, 59, 62, 67))), None
    )
    assert [bool(move.resolutions) for move in moves] == [False, True, False]
    assert {str(one.degree): one.outcome for one in moves[1].resolutions}["b7"] == "late"


def test_a_voice_that_went_elsewhere_landed_in_no_octave() -> None:
    """The b9 steps up to the 13 while a 5 sounds far below: it did not land."""
    found = outcomes(G13B9, ("Cmaj13", (43, 52, 59, 69)))
    assert found["b9"] == ("not landed", "13")


# The notes that a I holds as chord tones and tensions, semitones above its root (common practice).
RESTS = {"major": {0, 2, 4, 6, 7, 9, 11}, "minor": {0, 2, 3, 5, 7, 9, 10, 11}}


@pytest.mark.parametrize("target", RESTS)
def test_whatever_resolves_comes_to_rest_in_the_i(target: str) -> None:
    """Every way that is due leads by a step (the #9 by a minor 3rd at most) to a note of the I."""
    due = shifts_due("dominant", target, 5)
    assert {"b7", "3", "b9", "9", "#9", "#11", "b13", "13"} == set(due)
    for degree, shifts in due.items():
        for shift in shifts:
            assert abs(shift) <= (3 if degree == "#9" else 2)
            assert (semitones(degree) + shift + 7) % 12 in RESTS[target], (degree, shift)


def test_tensions_a_half_step_off_fall_or_rise_to_the_note_between() -> None:
    """G7's C# goes to C or D over C; its Eb to D (the 9) or E; its Bb to A or B."""
    for degree in ("#11", "b13"):
        assert set(shifts_due("dominant", "major", 5)[degree]) == {-1, 1}
    assert {-1, 1} <= set(shifts_due("dominant", "major", 5)["#9"])


def test_the_share_that_landed_is_of_what_was_due() -> None:
    """Three of four is 0.75; nothing due has no share."""
    assert Count(due=4, landed=3).rate == 0.75
    assert Count().rate is None
    assert str(Count()) == "0 of 0"


@pytest.mark.parametrize(
    ("pitch", "degree"), [(67, "11"), (59, "13"), (61, "7"), (58, "b13"), (52, "9")]
)
def test_a_note_that_goes_astray_is_named_over_its_own_chord(pitch: int, degree: str) -> None:
    """Over Dm7 without its 3 and 5: G is the 11, B the 13 (a 7th sounds), C# the 7, E the 9."""
    (shell,) = voicings(("Dm7", (50, 60)))
    assert str(degree_in(shell, pitch)) == degree
