"""The bench of what can be decided: by hand on a few chords, and no figure above its bound."""

import random

import pytest

from bench.naming.decidable import at_most, candidates, decided, dressings
from fixtures.forms.dressing import WAYS, Dressed, chords_of, dressed
from fixtures.forms.real_practice import CHOOSING


def test_a_tritone_is_two_dominants_or_a_minor_or_a_diminished_chord() -> None:
    """F and B are 7 and 3 of G7 and of Db7, b3 and 6 of Dm6 and of Abm6, of Ddim7 and Abdim7."""
    shell = Dressed(pitches=(53, 59), root_pc=7, family="dominant")
    assert set(candidates(shell, "shells")) == {
        (7, "dominant"), (1, "dominant"), (2, "minor"), (8, "minor"),
        (2, "diminished"), (8, "diminished"),
    }  # fmt: skip


def test_a_rooted_seventh_chord_is_one_chord() -> None:
    """C E G B from its root up could not have been dressed from another root."""
    chord = Dressed(pitches=(48, 52, 55, 59), root_pc=0, family="major")
    assert list(candidates(chord, "rooted")) == [(0, "major")]


def test_the_bound_by_hand() -> None:
    """One tritone shell between the same neighbours, two times G7 and once Db7: two of three."""
    before = Dressed(pitches=(53, 60), root_pc=2, family="minor")
    after = Dressed(pitches=(52, 59), root_pc=0, family="major")
    takes = [
        [before, Dressed(pitches=(53, 59), root_pc=root, family="dominant"), after]
        for root in (7, 7, 1)
    ]
    assert at_most(takes, "shells") == 3 + 2 + 3


@pytest.mark.parametrize("way", ["rootless", "shells"])
def test_what_is_dressed_is_among_its_candidates_and_the_bound_holds(way: str) -> None:
    """Every chord could have been meant, and no rule by counts beats the bound."""
    rng = random.Random(5)
    groups = [[dressed(chords_of(text), way, rng)] for text in list(CHOOSING.values())[:6]]
    for group in groups:
        for one in group[0]:
            assert (one.root_pc, one.family) in candidates(one, way)
    found = decided(groups, way)
    assert found.notes <= found.at_most
    assert found.roots <= found.at_most


def test_shares_of_options_add_up() -> None:
    """For each class of chord, over all figures of a way."""
    for way in WAYS:
        if way.startswith("free"):
            continue
        for options in dressings(way).values():
            assert sum(options.values()) == pytest.approx(1.0)
