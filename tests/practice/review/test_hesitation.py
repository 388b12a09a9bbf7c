"""Waiting and comping: what is a hesitation, measured against the player's own pulse."""

import pytest

from stackline.practice.finding.passes import find_passes
from stackline.practice.review.hesitation import tempo_bpm, timing, waits
from stackline.practice.targets.target_text import parse_target
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, gestures_of

II, V, I = TWO_FIVE  # noqa: E741
STUDY = parse_target(TARGET_TEXT)
BEAT_S = 0.5


def rows(places: list[float], first_beat: float = 0.0) -> list[tuple[float, tuple[int, ...]]]:
    """ii, V, I struck at these beats, 120 a minute."""
    return [
        (0.5 + (first_beat + at) * BEAT_S, row)
        for at, row in zip(places, (II, V, I), strict=True)
    ]  # fmt: skip


def hesitated(*passes: list[float]) -> list[list[int]]:
    """For each pass, a chord every four beats or as given: the chords that were waited on."""
    every = [one for i, places in enumerate(passes) for one in rows(places, 20.0 * i)]
    found = find_passes(gestures_of(every, length_s=0.3), STUDY)
    assert len(found) == len(passes)
    take = timing(found, STUDY)
    return [[one.chord for one in waits(row, STUDY, take) if one.hesitated] for row in found]


EVEN = [0.0, 4.0, 8.0]


def test_an_even_pass_has_no_hesitation() -> None:
    """Alone, and among others."""
    assert hesitated(EVEN) == [[]]
    assert hesitated(EVEN, EVEN, EVEN) == [[], [], []]


@pytest.mark.parametrize(
    ("places", "chord"),
    [
        ([0.0, 4.0, 10.0], 1),  # two beats before the I
        ([0.0, 7.0, 11.0], 0),  # three beats before the V
        ([0.0, 4.0, 9.0], 1),  # one beat
    ],
)
def test_a_search_before_any_chord_is_a_hesitation(places: list[float], chord: int) -> None:
    """The rest of the pass and of the take sets the pulse."""
    assert hesitated(places) == [[chord]]
    assert hesitated(EVEN, places, EVEN) == [[], [chord], []]


def test_half_a_beat_is_none() -> None:
    """Human timing is no waiting."""
    assert hesitated(EVEN, [0.0, 4.5, 8.4], EVEN) == [[], [], []]


def test_a_slower_key_is_no_hesitation() -> None:
    """The whole pass at two thirds of the tempo: slow, but even."""
    assert hesitated(EVEN, [0.0, 6.0, 12.0], EVEN) == [[], [], []]


def test_anticipations_and_rests_are_comping() -> None:
    """Chords half a beat early or one and a half late, in every pass: nobody waits."""
    comped = [[0.0, 3.5, 8.0], [0.0, 5.5, 8.0], [0.0, 3.5, 9.0], [0.0, 4.0, 7.5], [0.0, 5.0, 7.5]]
    assert hesitated(*comped) == [[], [], [], [], []]


def test_even_in_comping_three_beats_of_silence_are_a_search() -> None:
    """The same, and once nothing for seven beats before the V."""
    comped = [[0.0, 3.5, 8.0], [0.0, 5.5, 8.0], [0.0, 7.0, 11.0], [0.0, 4.0, 7.5], [0.0, 5.0, 7.5]]
    assert hesitated(*comped) == [[], [], [0], [], []]


def test_a_chord_corrected_was_not_waited_on() -> None:
    """The ii wrong, right two beats later, then on in time."""
    every = [(0.5, (53, 57, 61, 64)), *[(at + 1.0, row) for at, row in rows(EVEN)]]
    found = find_passes(gestures_of(every, length_s=0.3), STUDY)
    assert not any(one.hesitated for one in waits(found[0], STUDY, timing(found, STUDY)))


def test_a_wait_is_told_in_beats() -> None:
    """Two beats over the four that the V has."""
    found = find_passes(gestures_of(rows([0.0, 4.0, 10.0]), length_s=0.3), STUDY)
    last = waits(found[0], STUDY, timing(found, STUDY))[-1]
    assert (last.beats, last.meant_beats, last.seconds) == pytest.approx((6.0, 4.0, 3.0))


def test_a_tempo_is_told_without_the_wait() -> None:
    """Four chords, one of them late: 120 beats a minute all the same; one chord has no tempo."""
    text = "IIm9: b3 5 b7 9 > V13(b9): b7 b9 3 13 > I6/9: 3 5 6 9 > VI7(b9): 3 5 b7 b9"
    four = [*rows([0.0, 4.0, 10.0]), (0.5 + 14 * BEAT_S, (49, 52, 55, 58))]
    target = parse_target(text)
    found = find_passes(gestures_of(four, length_s=0.3), target)
    assert tempo_bpm(found[0], target) == pytest.approx(120)
    alone = parse_target("IIm9: b3 5 b7 9")
    single = find_passes(gestures_of([(0.5, II)]), alone)
    assert [tempo_bpm(one, alone) for one in single] == [None] * len(single)
