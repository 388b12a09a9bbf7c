"""Rules of engraving over whole made takes, as the handbooks have them.

The books are Elaine Gould, "Behind Bars" (Faber, 2011), and Gardner Read, "Music Notation" (2nd
ed., 1969); chapters are named, wording is ours, and pages were not looked up. What no book is named
for is common practice. The takes are made and read from their true notes; nothing was settled on
them.
"""

import re
from functools import cache
from itertools import groupby, pairwise

import pytest

from fixtures.played.takes import FREE, LISTED, PRACTISED, make_take
from stackline import Note, read_notes
from stackline.report.notation.engraving import engrave_score
from stackline.report.score.note_groups import ends_passage, groups
from stackline.report.score.score_layout import lay_out
from stackline.report.score.score_model import Bar, Item, Score

SEEDS = (75_001, 75_002, 75_006)
SPACE = 180.0  # units of a drawing in one staff space: two units of nine tenths, a hundredfold
SHORTEST_TIE = 1.0  # spaces; before, one in eighteen was shorter, down to 0.28


@cache
def score(seed: int) -> Score:
    """A made take as a score."""
    style = (LISTED, FREE, PRACTISED)[seed % 3]
    notes = [
        Note(onset_s=one.onset_s, offset_s=one.offset_s, midi=one.midi, velocity=one.velocity,
             confidence=0.97)
        for one in make_take(seed, style, duration_s=30.0).notes
    ]  # fmt: skip
    return lay_out(read_notes(notes, name=f"{seed}.wav"))


def items(bar: Bar) -> list[Item]:
    """Everything that stands in a bar of four beats; other bars have another middle."""
    return [item for line in bar.lines for item in line.items] if bar.length == 4 else []


@pytest.mark.parametrize("seed", SEEDS)
def test_the_middle_of_the_bar_is_seen(seed: int) -> None:
    """Gould, on grouping within 4/4: no rest crosses the middle, and a note only from a beat."""
    for bar in score(seed).bars:
        for item in items(bar):
            if item.start < 2 < item.end and not item.whole_bar:
                assert item.heads
                assert item.start.denominator == 1


@pytest.mark.parametrize("seed", SEEDS)
def test_an_empty_bar_has_one_whole_rest(seed: int) -> None:
    """Read, on rests: silence of a whole bar is one whole rest, whatever the meter."""
    for bar in score(seed).bars:
        for line in bar.lines:
            if not any(item.heads for item in line.items) and not bar.pickup:
                assert [item.whole_bar for item in line.items] == [True]


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_anticipated_is_tied_once(seed: int) -> None:
    """Gould, on ties: as few notes as the meter allows; over the bar line one tie and no more
    than one value before it in its beat.
    """
    for bar in score(seed).bars:
        for line in bar.lines:
            last = line.items[-1]
            if last.heads and all(head.tied_out for head in last.heads):
                before = [item for item in line.items[:-1] if item.start // 1 == last.start // 1
                          and item.heads == last.heads]  # fmt: skip
                assert not before


@pytest.mark.parametrize("seed", SEEDS)
def test_no_triplet_bracket_over_a_lone_off_beat(seed: int) -> None:
    """Where comping swings, lightly too, its off-beats are eighths; these takes have no triplet."""
    assert not [
        group for bar in score(seed).bars for line in bar.lines for group in groups(line)
        if group.triplet
    ]  # fmt: skip


@pytest.mark.parametrize("seed", SEEDS)
def test_a_new_signature_follows_a_double_bar_line(seed: int) -> None:
    """Read and Gould, on key signatures: a double bar line before a change of key."""
    for bar, following in pairwise(score(seed).bars):
        if bar.fifths != following.fifths and not bar.is_slot and not following.is_slot:
            assert ends_passage(bar, following)


@pytest.mark.parametrize("seed", SEEDS)
def test_clefs_hold_for_passages(seed: int) -> None:
    """Gould, on keyboard music: no change of clef for a note or two; ledger lines instead."""
    for staff in (0, 1):
        runs = [len(list(run)) for _, run in groupby(bar.clefs[staff] for bar in score(seed).bars)]
        assert len(runs) <= 1 + len(score(seed).bars) // 4


@pytest.mark.parametrize("seed", SEEDS)
def test_ties_are_long_enough_to_be_ties(seed: int) -> None:
    """Drawn ties, those of close chords and from one line to the next too."""
    widths = [
        width for page in engrave_score(score(seed)) for width in tie_widths(page)
    ]  # fmt: skip
    assert widths
    assert min(widths) >= SHORTEST_TIE


def test_slivers_would_be_seen() -> None:
    """The measure can fail: a tie of a third of a space."""
    drawing = '<g class="tie"><path d="M5771,12392 C5790,12499 5810,12499 5831,12392"/></g>'
    assert list(tie_widths(drawing)) == [pytest.approx(1 / 3)]


def tie_widths(svg: str) -> list[float]:
    """How wide each drawn tie is, in staff spaces."""
    return [
        (max(xs) - min(xs)) / SPACE
        for path in re.findall(r'<g[^>]*class="tie[^"]*"[^>]*>\s*<path d="([^"]+)"', svg)
        if (xs := [float(x) for x in re.findall(r"(-?\d+(?:\.\d+)?),", path)])
    ]
