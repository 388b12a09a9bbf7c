"""Note values: laws over random stretches, and the rules as engravers print them."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stackline.report.score.note_values import NAMES, Meter, pieces, triplet_beats
from stackline.report.score.score_model import Value

LENGTHS = {name: length for length, name in NAMES.items()}


def sounding(value: Value) -> Fraction:
    """How long a value lasts, by the definition of dots and triplets."""
    length = LENGTHS[value.name] * (Fraction(3, 2) if value.dotted else 1)
    return length * Fraction(2, 3) if value.triplet else length


def written(start: str, end: str, *, beats: int = 4, rest: bool = False) -> list[str]:
    """A stretch as texts: ``quarter.`` is dotted, ``3:`` a triplet."""
    meter = Meter(beats=beats)
    places = (Fraction(start), Fraction(end))
    found = pieces(*places, meter, triplet_beats(places, meter), rest)
    return [
        f"{'3:' if value.triplet else ''}{value.name}{'.' if value.dotted else ''}"
        for _, _, value in found
    ]


# Common practice in engraving: the middle of 4/4 shows, syncopation within a half may stand.
@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        ("0", "4", ["whole"]),
        ("0", "3", ["half."]),
        ("1", "3", ["half"]),
        ("1", "4", ["half."]),
        ("1/2", "3/2", ["quarter"]),
        ("1/2", "2", ["quarter."]),
        ("3/2", "5/2", ["eighth", "eighth"]),
        ("0", "5/2", ["half", "eighth"]),
        ("7/2", "4", ["eighth"]),
        ("3/4", "2", ["16th", "quarter"]),
        ("2/3", "2", ["3:eighth", "quarter"]),
        ("1/3", "1", ["3:quarter"]),
    ],
)
def test_notes_are_written_as_they_are_read(start: str, end: str, expected: list[str]) -> None:
    """Stretches of 4/4 as the values that a player expects."""
    assert written(start, end) == expected


# Common practice: rests are not syncopated, and show every group of beats.
@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        ("1", "4", ["quarter", "half"]),
        ("1/2", "3", ["eighth", "quarter", "quarter"]),
        ("0", "3/2", ["quarter", "eighth"]),
    ],
)
def test_rests_are_plain(start: str, end: str, expected: list[str]) -> None:
    """Rests in 4/4 without dots and off-beat lengths."""
    assert written(start, end, rest=True) == expected


def test_a_waltz_has_no_middle() -> None:
    """In 3/4 a half note may stand on the second beat."""
    assert written("1", "3", beats=3) == ["half"]


places = st.builds(
    lambda beat, part: beat + part,
    st.integers(0, 4),
    st.sampled_from([Fraction(i, 12) for i in range(12)] + [Fraction(i, 16) for i in range(16)]),
).filter(lambda place: place <= 5)


@given(st.lists(places, min_size=2, max_size=6, unique=True), st.integers(3, 7), st.booleans())
def test_values_fill_a_stretch_exactly(cuts: list[Fraction], beats: int, rest: bool) -> None:
    """Whatever the cuts, values join without gaps and each lasts what it says."""
    meter = Meter(beats=beats)
    cuts = sorted(min(cut, Fraction(beats)) for cut in cuts)
    triplets = triplet_beats(cuts, meter)
    for start, end in pairwise(cuts):
        if start == end:
            continue
        found = pieces(start, end, meter, triplets, rest)
        assert found[0][0] == start
        assert found[-1][1] == end
        assert all(a[1] == b[0] for a, b in pairwise(found))
        assert all(high - low == sounding(value) for low, high, value in found)
