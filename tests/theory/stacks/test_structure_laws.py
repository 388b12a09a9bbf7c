"""Laws of drop voicings and of degree names, over every case."""

from itertools import combinations, pairwise

import pytest

from stackline.theory.chords.degrees import name_degree, pitch_class
from stackline.theory.chords.qualities import FAMILIES
from stackline.theory.stacks import kinds
from stackline.theory.stacks.structures import is_close, structures

# All close four-note chords by shape: four pitch classes, lowest 0, span below an octave.
CLOSE = [(0, *rest) for rest in combinations(range(1, 12), 3)]
DROPS = {kinds.DROP_2: (2,), kinds.DROP_3: (3,), kinds.DROP_24: (2, 4)}


def dropped(close: tuple[int, ...], places: tuple[int, ...]) -> list[int]:
    """A close chord with the notes at these places from the top an octave lower."""
    down = [pitch - 12 if 4 - i in places else pitch for i, pitch in enumerate(close)]
    return sorted(down)


def test_there_are_165_close_shapes() -> None:
    """Choosing three of eleven: the number of close four-note shapes."""
    assert len(CLOSE) == 165
    assert all(is_close(one) for one in CLOSE)


@pytest.mark.parametrize("kind", DROPS)
def test_dropping_is_recognised_and_disjoint(kind: str) -> None:
    """Every dropped close chord is of its kind, and of no other drop, nor close itself."""
    for close in CLOSE:
        stack = [60 + pitch for pitch in dropped(close, DROPS[kind])]
        found = set(structures(stack, 60, "minor")) & {*DROPS, kinds.FOUR_WAY}
        assert found == {kind}, close


def test_a_close_chord_is_no_drop() -> None:
    """Close chords are found close, whatever the family says of them."""
    for close in CLOSE:
        found = set(structures([60 + pitch for pitch in close], 60 % 12, "major"))
        assert not found & set(DROPS)


def test_dropping_can_be_undone() -> None:
    """Raising the dropped notes again gives the close chord: the forms are invertible."""
    undone = {kinds.DROP_2: (0,), kinds.DROP_3: (0,), kinds.DROP_24: (0, 1)}
    for kind, places in DROPS.items():
        for close in CLOSE:
            low = dropped(close, places)
            again = sorted(p + 12 if i in undone[kind] else p for i, p in enumerate(low))
            assert tuple(again) == close


@pytest.mark.parametrize("family", FAMILIES)
def test_degree_names_have_their_own_pitch_class(family: str) -> None:
    """Whatever sounds beside it, an interval's name is of that interval."""
    for others in combinations(range(12), 2):
        for interval in range(12):
            named = name_degree(interval, family, {interval, *others})
            assert pitch_class(named) == interval


def test_every_stack_of_two_classes_has_a_kind() -> None:
    """No stack falls through: all sets of up to four notes within two octaves."""
    for size in (2, 3, 4):
        for notes in combinations(range(0, 24, 1 if size < 4 else 2), size):
            found = structures([48 + note for note in notes], 0, "dominant")
            assert found
            assert len(set(found)) == len(found)
    assert all(a < b for a, b in pairwise(sorted(DROPS)))
