"""The changes grid on the page: every chord once, to be heard; brackets in pieces that join up."""

import pytest

from stackline.report.contents.changes_grid import changes_grid
from stackline.report.contents.grid_in_page import lanes, page_bars
from stackline.report.page.page import render
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take

TAKES = {"sample": sample_take, "gridless": gridless_take, "long": lambda: long_take(90)}


@pytest.mark.parametrize("name", TAKES)
def test_every_chord_stands_once_and_sounds_until_the_next(name: str) -> None:
    """Chords cover the voicings in order; what is heard begins with the chord's first voicing."""
    take: Take = TAKES[name]()
    chords = [one for bar in page_bars(take) for one in bar.chords]
    assert [one.chord.index for one in chords] == sorted({one.chord.index for one in chords})
    assert chords[0].chord.index == 0
    for one, after in zip(chords, [*chords[1:], None], strict=True):
        start = take.voicings[one.chord.index].attack.onset_s
        assert float(one.from_s) == pytest.approx(start, abs=0.001)
        assert float(one.to_s) > float(one.from_s)
        if after is not None:
            assert float(one.to_s) <= float(after.from_s) + 0.001


@pytest.mark.parametrize("name", TAKES)
def test_pieces_of_a_bracket_join_up(name: str) -> None:
    """One piece a bar from the first chord to the last, the label on the first alone."""
    take: Take = TAKES[name]()
    grid, bars = changes_grid(take), page_bars(take)
    for bracket in grid.brackets:
        pieces = [
            (number, piece)
            for number, bar in enumerate(bars)
            for piece in bar.pieces
            if piece.lane == bracket.lane and bracket.first[0] <= number <= bracket.last[0]
        ]
        assert sum(piece.label == bracket.label for _, piece in pieces) >= 1
        for _, piece in pieces:
            assert 0.0 <= piece.left <= 1.0
            assert piece.left + piece.width <= 1.03
    assert lanes(bars) == max((one.lane + 1 for one in grid.brackets), default=0)


def test_the_page_holds_the_grid() -> None:
    """A button a chord, with its symbol and its stack; none where nothing was heard."""
    page = render(TakeView(sample_take()))
    chords = [one for bar in page_bars(sample_take()) for one in bar.chords]
    assert page.count('class="chord" data-from') == len(chords)
    assert all(one.chord.symbol in page and one.chord.stack in page for one in chords)
    assert 'id="grid-title"' not in render(TakeView(empty_take()))
