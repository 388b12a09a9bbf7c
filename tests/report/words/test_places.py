"""How places are counted, straight and swung."""

from collections.abc import Callable
from fractions import Fraction

import pytest

from stackline.report.files.table import render
from stackline.report.score.score_layout import lay_out
from stackline.report.words.page_text import facts
from stackline.report.words.places import Places, beat_text
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from tests.support.takes.played_takes import grid_of, struck, take_of
from tests.support.takes.sample_take import gridless_take, sample_take

CHORD = (53, 57, 60, 64)


def taken(*places: Fraction) -> Take:
    """A chord at each place, in beats from the first downbeat."""
    notes = [note for place in places for note in struck(CHORD, place, 0.3)]
    return take_of(notes, grid_of(20))


def shorts(take: Take) -> list[str]:
    """The places of all attacks."""
    places = Places(take)
    return [places.short(attack) for attack in take.attacks]


# Counting syllables "4 e & a" (common practice).
@pytest.mark.parametrize(
    ("part", "text"),
    [("0", "4"), ("1/4", "4e"), ("1/2", "4&"), ("3/4", "4a"), ("1/3", "4+1/3"), ("2/3", "4+2/3"),
     ("5/6", "4+5/6")],
)  # fmt: skip
def test_beats_are_counted_aloud(part: str, text: str) -> None:
    """Halves and quarters have syllables, other parts are added."""
    assert beat_text(4 + Fraction(part)) == text


def test_swung_off_beats_are_the_and() -> None:
    """Late off-beats count as "and"; a beat with a triplet in it keeps its thirds."""
    take = taken(*(Fraction(n, 3) for n in (0, 5, 11, 17, 24, 25, 26)))
    assert shorts(take) == ["1.1", "1.2&", "1.4&", "2.2&", "3.1", "3.1+1/3", "3.1+2/3"]
    assert "swung" in facts(TakeView(take))
    assert "beats a minute, swung" in render(TakeView(take)).splitlines()[0]


def test_a_few_late_off_beats_are_no_swing() -> None:
    """Two alone on the last third are counted as eighths, but nothing is called swung."""
    take = taken(Fraction(0), Fraction(5, 3), Fraction(11, 3))
    assert shorts(take) == ["1.1", "1.2&", "1.4&"]
    assert "swung" not in facts(TakeView(take))
    assert "swung" not in render(TakeView(take))


def test_triplets_stay_triplets() -> None:
    """Three in two beats (quarters) and three in one (eighths) keep their thirds."""
    take = taken(Fraction(0), Fraction(2, 3), Fraction(4, 3), Fraction(2), Fraction(7, 3),
                 Fraction(8, 3))  # fmt: skip
    assert shorts(take) == ["1.1", "1.1+2/3", "1.2+1/3", "1.3", "1.3+1/3", "1.3+2/3"]


@pytest.mark.parametrize("make", [sample_take, gridless_take])
def test_places_and_score_agree_on_swing(make: Callable[[], Take]) -> None:
    """The score's word and the counted places follow one rule."""
    swinging = taken(*(Fraction(n, 3) for n in (2, 5, 8, 11)))
    assert Places(swinging).swung is lay_out(swinging).swung is True
    assert Places(make()).swung is lay_out(make()).swung is False
