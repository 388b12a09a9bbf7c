"""Passes in a take: where each begins, what brought each chord, what is a false start."""

import pytest

from stackline.practice.finding.passes import find_passes
from stackline.practice.targets.target_text import parse_target
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, gestures_of, played

STUDY = parse_target(TARGET_TEXT)
II, V, I = TWO_FIVE  # noqa: E741
Row = tuple[float, tuple[int, ...]]


def found(*rows: Row, text: str = TARGET_TEXT, length_s: float = 0.5) -> list[tuple[object, ...]]:
    """(key, when each chord came, which chords, whole?) of each row."""
    passes = find_passes(gestures_of(rows, length_s=length_s), parse_target(text))
    return [
        (one.key, [round(float(a.main.onset_s), 2) for a in one.arrivals],
         [a.chord for a in one.arrivals], one.finished)
        for one in passes
    ]  # fmt: skip


def test_nothing_played_holds_nothing() -> None:
    """An empty take has no pass."""
    assert find_passes((), STUDY) == ()


def test_a_chord_struck_again_belongs_to_it() -> None:
    """Comping: each chord arrives when it is first struck, whatever follows."""
    rows = played(II, II, V, V, I, I, every_s=0.6)
    assert found(*rows) == [(0, [0.5, 1.7, 2.9], [0, 1, 2], True)]


def test_a_chord_corrected_at_once_arrived_when_it_was_first_tried() -> None:
    """F A Db E, then F A C E half a second later: the pass begins with the first."""
    rows = [(0.5, (53, 57, 61, 64)), (1.0, II), (2.0, V), (3.0, I)]
    assert found(*rows) == [(0, [0.5, 2.0, 3.0], [0, 1, 2], True)]
    inside = [(0.5, II), (1.5, (53, 56, 60, 64)), (2.0, V), (3.0, I)]
    assert found(*inside) == [(0, [0.5, 1.5, 3.0], [0, 1, 2], True)]


def test_a_low_root_and_a_lone_note_are_no_chord() -> None:
    """G1 touched after the V, and a D6 before the I."""
    rows = [(0.5, II), (1.5, V), (2.0, (31,)), (2.5, I)]
    assert found(*rows) == [(0, [0.5, 1.5, 2.5], [0, 1, 2], True)]
    lone = [(0.5, II), (1.5, V), (2.2, (86,)), (2.5, I)]
    assert found(*lone) == [(0, [0.5, 1.5, 2.5], [0, 1, 2], True)]


@pytest.mark.parametrize("reached", [1, 2])
def test_a_false_start_is_kept_apart_from_the_pass_behind_it(reached: int) -> None:
    """One or two chords, a breath, and the whole from the beginning."""
    rows = [*played(II, V, I)[:reached], *played(II, V, I, start_s=5.0)]
    first, whole = found(*rows)
    assert first[2:] == (list(range(reached)), False)
    assert whole == (0, [5.0, 6.0, 7.0], [0, 1, 2], True)


def test_a_chord_left_out_leaves_the_pass_whole() -> None:
    """Four chords, the second never played."""
    text = "IIm9: b3 5 b7 9 > V13(b9): b7 b9 3 13 > I6/9: 3 5 6 9 > VI7(b9): 3 5 b7 b9"
    rows = [(0.5, II), (2.5, I), (3.5, (49, 52, 55, 58))]
    assert found(*rows, text=text) == [(0, [0.5, 2.5, 3.5], [0, 2, 3], True)]


def test_passes_follow_each_other_without_a_breath() -> None:
    """C, F and Bb, straight on: three passes with three chords each."""
    rows = played(II, V, I) + played(II, V, I, start_s=3.5, up=5)
    rows += played(II, V, I, start_s=6.5, up=-2)
    assert [(one[0], one[2]) for one in found(*rows)] == [(k, [0, 1, 2]) for k in (0, 5, 10)]


def test_twenty_seconds_of_silence_end_a_row() -> None:
    """Ii and V, a telephone call, and a I: no pass."""
    rows = [(0.5, II), (1.5, V), (23.0, I)]
    assert not any(one[3] for one in found(*rows))


def test_free_playing_of_other_chords_holds_no_pass() -> None:
    """Triads up and down: nothing of the study, and nothing of its symbols."""
    triads = played((60, 64, 67), (62, 66, 69), (59, 62, 67), (60, 63, 67), (58, 62, 65))
    assert found(*triads) == []
    assert not any(one[3] for one in found(*triads, text="Dm7b5 | G7alt | Cm6"))


def test_the_same_voicing_struck_again_is_no_new_chord_of_a_symbol() -> None:
    """D G# C# F# is E7 and as well Bb7alt; struck twice it is one chord, struck twice."""
    rows = [(0.5, (50, 56, 61, 66)), (1.2, (50, 56, 61, 66)), (2.3, (33, 48, 52, 57, 59))]
    assert [(one[0], one[2]) for one in found(*rows, text="G7 | Cm")] == [(9, [0, 1])]


def test_dominant_and_tonic_with_tensions_are_a_pass_in_their_own_key() -> None:
    """G13(b9) to C6/9 against "G7 | Cmaj7", round the twelve keys: each in its own."""
    for up in range(-5, 7):
        rows = played((53, 56, 59, 64), (52, 57, 62, 67), up=up)
        assert [(one[0], one[3]) for one in found(*rows, text="G7 | Cmaj7")] == [(up % 12, True)]


def test_a_mistake_in_company_is_a_pass_and_in_free_playing_none() -> None:
    """Three passes of a V-I, one with C for the B of the G7; and that one among other chords."""
    good = ((53, 59, 64, 69), (48, 52, 55, 59))
    bad = ((53, 60, 64, 69), (48, 52, 55, 59))
    rows = played(*good) + played(*bad, start_s=4.0, up=3) + played(*good, start_s=7.5, up=5)
    rows += played(*good, start_s=11.0, up=-2)
    assert [one[0] for one in found(*rows, text="G7 | Cmaj7")] == [0, 3, 5, 10]
    other = [(0.5, (60, 64, 67)), (1.5, (58, 62, 65)), (2.5, (56, 60, 63)), (3.5, (55, 58, 62))]
    among = other + played(*bad, start_s=4.5) + [(at + 6.0, row) for at, row in other]
    assert found(*among, text="G7 | Cmaj7") == []


def test_a_pass_says_when_it_began_and_ended_and_what_came() -> None:
    """From the first chord struck to the last key let go; a chord left out has no arrival."""
    text = "IIm9: b3 5 b7 9 > V13(b9): b7 b9 3 13 > I6/9: 3 5 6 9 > VI7(b9): 3 5 b7 b9"
    rows = [(0.5, II), (2.5, I), (3.0, I), (3.5, (49, 52, 55, 58))]
    (one,) = find_passes(gestures_of(rows, length_s=0.4), parse_target(text))
    assert one.start_s == pytest.approx(0.5)
    assert one.end_s == pytest.approx(3.9)  # 0.4 s after the last chord was struck
    assert one.arrival(1) is None
    third = one.arrival(2)
    assert third is not None
    assert third.main.onset_s == pytest.approx(2.5)
    assert [round(float(each.onset_s), 1) for each in third.later] == [3.0]
