"""What table and page say of time: harmonic rhythm, swing, and what is not playing."""

from dataclasses import replace
from fractions import Fraction

import pytest

from stackline.report.contents import chart
from stackline.report.contents.chart_slots import BAR_W
from stackline.report.files import table
from stackline.report.page import page
from stackline.report.words.take_view import TakeView
from stackline.report.words.time_words import not_playing_words, rhythm_sentences
from stackline.shared.notes import Span
from stackline.shared.take import Take
from stackline.theory.reading import read
from tests.support.takes.played_takes import grid_of, struck, take_of

TALK = Span(start_s=1.0, end_s=6.5, kind="talk")
KNOCK = Span(start_s=8.0, end_s=9.0, kind="not playing")


@pytest.fixture
def take() -> Take:
    """Three chords, the second one anticipated, with talk and a knock."""
    notes = struck((53, 57, 60, 64), Fraction(0), 0.9)
    notes += struck((53, 57, 59, 64), Fraction(7, 2), 0.9)
    notes += struck((52, 55, 59, 62), Fraction(8), 0.9)
    made = take_of(notes, grid_of(13))
    rhythm = read(made.attacks, made.grid, end_s=made.source.duration_s).rhythm
    return replace(made, rhythm=rhythm, not_playing=(TALK, KNOCK), swing_ratio=1.8)


def _sentences(take: Take) -> list[str]:
    return ["".join(piece.text for piece in one) for one in rhythm_sentences(TakeView(take))]


def test_chords_are_counted_by_how_they_come(take: Take) -> None:
    """Counts, the early chord with its place and its bar, the swing with its scale."""
    told = _sentences(take)
    assert told[0] == "Three chords in three bars, 1.0 a bar: two on the beat, one anticipated."
    early = take.voicings[1].chord.symbol.text
    assert told[1] == f"Anticipated: {early}, bar 1, beat 4&, for bar 2."
    assert told[-1].startswith("Divided beats are 1.8 to 1, long to short")


def test_an_early_chord_can_be_jumped_to(take: Take) -> None:
    """The place in the sentence points at the voicing."""
    assert [
        piece.index for piece in rhythm_sentences(TakeView(take))[1] if piece.index is not None
    ] == [1]


def test_what_is_not_playing_is_told_with_its_times(take: Take) -> None:
    """In the table's words, and no more than a few."""
    words = "talk 0:01.0 to 0:06.5; not playing 0:08.0 to 0:09.0"
    assert not_playing_words(take) == words
    assert f"Not playing: {words}." in table.render(TakeView(take), width=120)
    many = replace(take, not_playing=(KNOCK,) * 11)
    assert not_playing_words(many).endswith("; and 3 more")


def test_grey_strips_stand_where_the_talk_is(take: Take) -> None:
    """Bars are three seconds from 0.6 s: talk covers parts of the first two, named once."""
    first, second, third, *_ = chart.bars(TakeView(take))
    (strip,) = first.strips
    assert strip.name == "talk"
    assert strip.x == pytest.approx(BAR_W * (1.0 - 0.6) / 3.0)
    assert strip.x + strip.width == pytest.approx(BAR_W)
    (strip,) = second.strips
    assert (strip.x, strip.name) == (0.0, "")
    assert strip.width == pytest.approx(BAR_W * (6.5 - 3.6) / 3.0)
    assert [one.name for one in third.strips] == ["not playing"]
    assert second.spoken.endswith("; talk 0:01.0 to 0:06.5")


def test_the_page_shows_and_says_it(take: Take) -> None:
    """Grey strips in the chart, their words beside it, the rhythm in a section of its own."""
    html = page.render(TakeView(take))
    assert html.count('<rect class="other-sound"') == 3
    assert "Grey stretches are not playing: talk 0:01.0 to 0:06.5" in html
    assert '<h2 id="rhythm-title">Harmonic rhythm</h2>' in html
    assert "1.0 a bar: two on the beat, one anticipated." in html


def test_a_take_without_beats_claims_no_bars(take: Take) -> None:
    """Without a grid there is no word of bars, early or late."""
    free = take_of(take.notes, grid_of(0))
    assert _sentences(free) == []
    assert "Harmonic rhythm" not in page.render(TakeView(free))
