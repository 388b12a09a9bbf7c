"""One voicing against what was meant, note by note, worked out by hand in C."""

import pytest

from stackline.listen.attacks.attacks import find_attacks
from stackline.practice.finding.gestures import gestures
from stackline.practice.review.comparison import compare, octave_of, played_pitches
from stackline.practice.targets.target_text import parse_target
from tests.support.takes.practice_scenes import gestures_of, notes_of

MEANT = (53, 57, 60, 64)  # F A C E: IIm9 in C
II = parse_target("IIm9: b3 5 b7 9 > V13: b7 9 3 13").chords[0]
FREE = parse_target("Dm7 | G7(b9) | Cmaj7").chords


def told(pitches: tuple[int, ...]) -> list[tuple[str, str | None, str | None]]:
    """(kind, degree meant, degree played) of each difference from F A C E."""
    found = compare(pitches, II, 0, MEANT)
    return [
        (
            one.kind,
            None if one.meant is None else str(one.meant),
            None if one.played is None else str(one.played),
        )
        for one in found.differences
    ]


@pytest.mark.parametrize(
    ("pitches", "status", "octaves"),
    [
        (MEANT, "exact", 0),
        ((65, 69, 72, 76), "other octave", 1),
        ((41, 45, 48, 52), "other octave", -1),
        ((29, 33, 36, 40), "other octave", -2),
        ((53, 57, 60, 76), "other octave", 0),  # opened wider: F A C, E an octave up
        ((57, 60, 64, 65), "other order", 0),  # A C E F
        ((48, 52, 53, 57), "other order", 0),  # C E F A
        ((53, 57, 61, 64), "changed", 0),
        ((53, 57, 60), "changed", 0),
        ((53, 57, 60, 62, 64), "changed", 0),
    ],
)
def test_how_a_voicing_stands_to_the_one_meant(
    pitches: tuple[int, ...], status: str, octaves: int
) -> None:
    """Same keys; same stack elsewhere; same notes turned over; other notes."""
    found = compare(pitches, II, 0, MEANT)
    assert (found.status, found.octaves) == (status, octaves)
    assert found.right is (status == "exact")


@pytest.mark.parametrize(
    ("pitches", "expected"),
    [
        (MEANT, []),
        ((53, 57, 61, 64), [("wrong", "b7", "7")]),  # C# for C
        ((53, 57, 59, 64), [("wrong", "b7", "6")]),  # B for C
        ((54, 57, 60, 64), [("wrong", "b3", "3")]),  # F# for F
        ((53, 57, 60, 67), [("wrong", "9", "11")]),  # G for E, three semitones off
        ((53, 57, 60, 68), [("missing", "9", None), ("added", None, "#11")]),  # too far for it
        ((57, 60, 64), [("missing", "b3", None)]),
        ((53, 57, 60, 64, 67), [("added", None, "11")]),
        ((50, 53, 57, 60, 64), [("added", None, "R")]),
        ((53, 57, 64, 72, 74), [("moved", "b7", "b7"), ("added", None, "R")]),
        ((53, 57, 60, 64, 69), [("added", None, "5")]),  # the A doubled an octave up
        ((54, 58, 60, 64), [("wrong", "b3", "3"), ("wrong", "5", "b13")]),
    ],
)
def test_notes_are_paired_as_a_teacher_would(
    pitches: tuple[int, ...], expected: list[tuple[str, str | None, str | None]]
) -> None:
    """The nearest foreign note within a minor third stands for the one that is missing."""
    assert told(pitches) == expected


def test_a_faulty_voicing_an_octave_away_is_compared_where_it_lies() -> None:
    """F A C# E an octave up: one wrong note, not four."""
    found = compare((65, 69, 73, 76), II, 0, MEANT)
    assert [one.kind for one in found.differences] == ["wrong"]
    assert found.octaves == 1


def test_guide_tones_are_told_whether_they_sound() -> None:
    """The F of Dm9 left out, the C there; in another key the same."""
    assert compare((57, 60, 64), II, 0, MEANT).guides == (("b3", False), ("b7", True))
    up = tuple(pitch + 3 for pitch in MEANT)
    assert compare(up, II, 3, up).guides == (("b3", True), ("b7", True))


def test_degrees_are_called_as_the_chord_calls_them() -> None:
    """Over D: F b3, G 11, Ab b5, B 6 or 13; over G with a 3: Bb is a #9."""
    assert [str(d) for d in compare((53, 55, 56, 59), II, 0, MEANT).degrees] == [
        "b3", "11", "b5", "6"
    ]  # fmt: skip
    five = parse_target("G7 | Cmaj7").chords[0]
    assert [str(d) for d in compare((53, 58, 59, 64), five, 0, ()).degrees] == [
        "b7", "#9", "3", "13"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("chord", "pitches", "expected"),
    [
        (0, (53, 57, 60, 64), []),  # rootless
        (0, (50, 60, 65), []),  # shell
        (0, (50, 55, 60, 65, 69), []),  # fourths with a third
        (0, (54, 57, 60, 64), [("wrong", "b3", "3")]),
        (0, (57, 60, 64), [("missing", "b3", None)]),
        (0, (51, 53, 57, 60), [("added", None, "b9")]),
        (1, (53, 56, 59, 64), []),  # the b9 and a free 13
        (1, (53, 56, 59, 63), []),  # the b9 and a free b13
        (1, (53, 57, 59, 64), [("wrong", "b9", "9")]),
        (1, (53, 59, 64), [("missing", "b9", None)]),
        (1, (53, 56, 60, 64), [("wrong", "3", "11")]),
        (2, (52, 57, 62), []),  # 3 6 9
        (2, (48, 52, 57), []),  # C E A: a 6 for the 7
        (2, (52, 55, 58, 62), [("wrong", "7", "b7")]),
        (2, (53, 55, 59, 62), [("wrong", "3", "4")]),
    ],
)
def test_against_a_symbol_only_contradictions_are_told(
    chord: int, pitches: tuple[int, ...], expected: list[tuple[str, str | None, str | None]]
) -> None:
    """Dm7, G7(b9) and Cmaj7 in C, each in ways of the trade and with one note against it."""
    found = compare(pitches, FREE[chord], 0, ())
    told = [
        (
            one.kind,
            None if one.meant is None else str(one.meant),
            None if one.played is None else str(one.played),
        )
        for one in found.differences
    ]
    assert [(k, m, p if p != "11" or chord == 1 else "4") for k, m, p in told] == expected
    assert found.right is (not expected)


def test_the_octave_of_a_voicing() -> None:
    """The study's F A C E lies two octaves above its place, exactly; a faulty one about there."""
    place = tuple(pitch - 24 for pitch in MEANT)
    assert octave_of(MEANT, place, 0) == (2, True)
    assert octave_of(tuple(p + 3 for p in MEANT), place, 3) == (2, True)
    assert octave_of((53, 57, 61, 64), place, 0) == (2, False)


def test_keys_kept_down_are_played_only_if_meant() -> None:
    """F (meant) and D (not) stay down while A C E are struck; a struck F needs no kept one."""
    notes = (*notes_of([(0.5, (50, 53))], length_s=3.0), *notes_of([(2.0, (57, 60, 64))]))
    later = gestures(find_attacks(notes))[1]
    assert played_pitches(later, II, 0) == (53, 57, 60, 64)
    low = (*notes_of([(0.5, (41,))], length_s=3.0), *notes_of([(2.0, MEANT)]))
    assert played_pitches(gestures(find_attacks(low))[1], II, 0) == MEANT
    assert played_pitches(gestures_of([(0.5, MEANT)])[0], II, 0) == MEANT
