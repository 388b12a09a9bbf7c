"""The top line and the guide-tone lines of a take."""

import pytest

from stackline.theory.motion.lines import contour, guide_lines, top_line
from stackline.theory.motion.motion import motions
from tests.support.played import voicings

II_V_I = (("Dm9", (53, 57, 60, 64)), ("G13", (53, 57, 59, 64)), ("Cmaj9", (52, 55, 59, 62)))


def test_the_top_line_is_re_read_over_each_chord():
    """E, E, D: the 9, the 13 and the 9 again."""
    line = top_line(voicings(*II_V_I))
    assert [(note.name, str(note.degree), note.symbol) for note in line.notes] == [
        ("E4", "9", "Dm9"), ("E4", "13", "G13"), ("D4", "9", "Cmaj9"),
    ]  # fmt: skip
    assert line.contour == "level"
    assert top_line(()).notes == ()


@pytest.mark.parametrize(
    ("pitches", "shape"),
    [
        ([60, 61, 60], "level"), ([60, 64, 67], "rising"), ([67, 64, 60], "falling"),
        ([60, 67, 61], "arch"), ([67, 60, 66], "valley"), ([64, 70, 58, 64], "winding"),
        ([], "level"),
    ],
)  # fmt: skip
def test_contours(pitches, shape):
    """One word for the shape; a whole step's difference is none."""
    assert contour(pitches) == shape


# Runs are steps (1 or 2 semitones) in one direction, two at least.
@pytest.mark.parametrize(
    ("tops", "runs"),
    [
        ([64, 65, 67, 69], [(0, 3, 5)]),
        ([64, 65, 67, 65, 64], [(0, 2, 3), (2, 4, -3)]),
        ([64, 69, 67, 65], [(1, 3, -4)]),
        ([64, 64, 65], []),
        ([64, 65], []),
    ],
)
def test_runs_of_steps(tops, runs):
    """First, last and total size of each run; a turning note ends one and begins the next."""
    line = top_line(voicings(*[("C6/9", (52, 57, top)) for top in tops]))
    assert [(run.first, run.last, run.semitones) for run in line.runs] == runs


def test_guide_tone_lines_run_through_a_ii_v_i():
    """F F E and C B B: b3-b7-3 and b7-3-7, both smooth (T. Karlsson, lesson 53)."""
    found = guide_lines(motions(voicings(*II_V_I), None))
    upper, lower = sorted(found, key=lambda one: -one.moves[0].from_midi)
    assert [(m.from_midi, m.to_midi) for m in upper.moves] == [(60, 59), (59, 59)]
    assert [(m.from_midi, m.to_midi) for m in lower.moves] == [(53, 53), (53, 52)]
    assert upper.smooth
    assert lower.smooth


def test_a_broken_line_starts_anew():
    """After a chord that takes no guide tone up, a new line begins."""
    line = voicings(*II_V_I, ("Fm9", (56, 60, 63, 67)), ("Bb13", (56, 60, 62, 67)))
    starts = [one.first for one in guide_lines(motions(line, None))]
    assert starts[:2] == [0, 0]
    assert 3 in starts
