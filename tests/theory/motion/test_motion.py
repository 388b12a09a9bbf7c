"""Top line, common tones, parallels and outer voices."""

import pytest

from stackline.shared.harmony import Motion
from stackline.theory.motion.motion import motions, outer_motion, top_kind
from stackline.theory.motion.parallels import constant_shift
from tests.support.takes.played import voicing, voicings


def parallel(move: Motion) -> tuple[str, int]:
    """The kind of a parallel motion, and by how many semitones."""
    assert move.parallel is not None
    return move.parallel.kind, move.parallel.semitones


# Common practice: repeat 0, step 1-2, skip 3-4, leap from 5.
@pytest.mark.parametrize(
    ("semitones", "kind"),
    [(0, "repeat"), (1, "step"), (-2, "step"), (3, "skip"), (-4, "skip"), (5, "leap")],
)
def test_sizes_of_the_top_line(semitones: int, kind: str) -> None:
    """The size decides, the direction does not."""
    assert top_kind(semitones) == kind


def test_the_nine_becomes_the_thirteen() -> None:
    """Dm9 to G13 with E on top: a common tone, re-read (the 9 of the ii is the 13 of the V)."""
    (move,) = motions(voicings(("Dm9", (53, 57, 60, 64)), ("G13", (53, 57, 59, 64))), None)
    assert (move.top.semitones, move.top.kind) == (0, "repeat")
    assert (str(move.top.from_degree), str(move.top.to_degree)) == ("9", "13")
    kept = {one.midi: (str(one.from_degree), str(one.to_degree)) for one in move.common_tones}
    assert kept == {53: ("b3", "b7"), 57: ("5", "9"), 64: ("9", "13")}


def test_constant_structure_keeps_every_gap() -> None:
    """All voices by the same shift, of three notes at least."""
    assert constant_shift((50, 55, 60), (52, 57, 62)) == 2
    assert constant_shift((50, 55, 60), (52, 57, 61)) is None
    assert constant_shift((50, 55, 60), (50, 55, 60)) is None
    assert constant_shift((50, 55), (52, 57)) is None
    (move,) = motions(voicings(("Dm11", (50, 55, 60)), ("Fm11", (53, 58, 63))), None)
    assert parallel(move) == ("constant structure", 3)


def test_away_by_a_semitone_and_back_is_a_side_slip() -> None:
    """Both moves are labelled, there and back."""
    line = voicings(
        ("Dm11", (50, 55, 60, 65)), ("Ebm11", (51, 56, 61, 66)), ("Dm11", (50, 55, 60, 65))
    )
    found = motions(line, 0.5)
    assert [parallel(m) for m in found] == [
        ("side-slip", 1),
        ("side-slip", -1),
    ]


def test_a_climbing_chain_through_a_chord_without_a_reading() -> None:
    """A, A+1, A+2: side-slips if the middle is unsure, constant structures if it stands."""
    stacks = [(53, 57, 60, 64), (54, 58, 61, 65), (55, 59, 62, 66)]
    symbols = ["Dm9", "Ebm9", "Em9"]
    for confidence, kind in ((0.4, "side-slip"), (0.95, "constant structure")):
        line = [
            voicing(symbol, stack, 2.0 * i, 0.95 if i != 1 else confidence)
            for i, (symbol, stack) in enumerate(zip(symbols, stacks, strict=True))
        ]
        assert [parallel(m)[0] for m in motions(line, None)] == [kind, kind]


def test_diatonic_parallel_moves_by_letters() -> None:
    """Stacks of thirds up the C scale: equal letters, unequal semitones."""
    (move,) = motions(voicings(("Cmaj7", (60, 64, 67, 71)), ("Dm7", (62, 65, 69, 72))), None)
    assert parallel(move) == ("diatonic parallel", 2)


# Common practice.
@pytest.mark.parametrize(
    ("before", "after", "kind"),
    [
        ((53, 57, 60, 64), (53, 57, 59, 64), "still"),
        ((53, 57, 60, 64), (53, 57, 59, 65), "oblique"),
        ((53, 57, 60, 64), (51, 57, 60, 66), "contrary"),
        ((53, 57, 60, 64), (55, 57, 60, 67), "similar"),
        ((53, 57, 60, 64), (55, 60, 62, 66), "parallel"),
    ],
)
def test_outer_voices(before: tuple[int, ...], after: tuple[int, ...], kind: str) -> None:
    """Contrary, oblique, similar, parallel, or neither voice moves."""
    assert outer_motion(voicing("Dm9", before), voicing("Dm9", after)) == kind


def test_guide_tones_go_before_common_tones() -> None:
    """G13 to C6/9: F falls to E although an E stays a step above it (common practice)."""
    (move,) = motions(voicings(("G13", (53, 59, 64, 69)), ("C6/9", (52, 57, 62, 64))), None)
    assert (53, 52) in [(one.from_midi, one.to_midi) for one in move.guide_tones]
    (move,) = motions(voicings(("G7", (53, 59, 62)), ("Cmaj7", (52, 60, 64))), None)
    assert [(one.from_midi, one.to_midi) for one in move.guide_tones] == [(53, 52), (59, 60)]


def test_a_shape_under_another_chord_keeps_its_resolutions() -> None:
    """G7alt and Cm6/9 are one shape a major third apart: the F still falls to Eb."""
    (move,) = motions(voicings(("G7alt", (59, 63, 65, 70)), ("Cm6/9", (63, 67, 69, 74))), None)
    assert parallel(move) == ("constant structure", 4)
    assert {str(one.degree): one.outcome for one in move.resolutions}["b7"] == "landed"


def test_a_chord_that_is_moved_as_it_is_owes_nothing() -> None:
    """E13 to Eb13 with every voice a semitone down is planing (common practice)."""
    (move,) = motions(voicings(("E13", (56, 61, 62, 66)), ("Eb13", (55, 60, 61, 65))), None)
    assert move.resolutions == ()
    assert {one.semitones for one in move.moves} == {-1}


def test_no_parallel_is_told_beside_a_voice_that_stays() -> None:
    """C E G B to E G B D: three notes stay, whatever the letters say."""
    (move,) = motions(voicings(("Cmaj7", (60, 64, 67, 71)), ("Em7", (64, 67, 71, 74))), None)
    assert move.parallel is None
