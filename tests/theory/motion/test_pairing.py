"""Pairing of voices: every note once, at least cost."""

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from stackline.theory.motion.pairing import APPEARS, pair_voices

STACK = st.lists(st.integers(40, 84), min_size=0, max_size=5, unique=True).map(sorted)


def cost(moves):
    """Semitones moved, and APPEARS for each half voice."""
    return sum(APPEARS if move.semitones is None else abs(move.semitones) for move in moves)


def least_cost(before, after):
    """The cheapest pairing by trying all: each note with another, or with nothing."""
    size = len(before) + len(after)
    left = [*before, *[None] * (size - len(before))]
    right = [*after, *[None] * (size - len(after))]

    def price(a, b):
        if a is None and b is None:
            return 0
        return APPEARS if a is None or b is None else abs(a - b)

    return min(
        sum(price(a, b) for a, b in zip(left, order, strict=True)) for order in permutations(right)
    )


@given(STACK, STACK)
def test_every_note_is_in_exactly_one_pair(before, after):
    """Nothing is lost and nothing is used twice."""
    moves = pair_voices(before, after)
    assert sorted(m.from_midi for m in moves if m.from_midi is not None) == before
    assert sorted(m.to_midi for m in moves if m.to_midi is not None) == after


SMALL = st.lists(st.integers(50, 75), min_size=1, max_size=3, unique=True).map(sorted)


@given(SMALL, SMALL)
def test_no_cheaper_pairing_exists(before, after):
    """Against an exhaustive search."""
    assert cost(pair_voices(before, after)) == least_cost(before, after)


@given(STACK, STACK)
def test_common_tones_stay(before, after):
    """A pitch in both stacks is paired with itself."""
    kept = {m.from_midi for m in pair_voices(before, after) if m.semitones == 0}
    assert kept == set(before) & set(after)


@given(STACK, STACK, st.integers(-12, 12))
def test_pairing_commutes_with_transposition(before, after, up):
    """Moving both stacks moves the pairs."""
    moved = pair_voices([p + up for p in before], [p + up for p in after])
    assert cost(moved) == cost(pair_voices(before, after))


def test_a_ii_v_by_hand():
    """Dm9 to G13: F stays, A stays, C falls to B, E stays (common practice)."""
    moves = pair_voices([53, 57, 60, 64], [53, 57, 59, 64])
    assert [(m.from_midi, m.to_midi) for m in moves] == [(53, 53), (57, 57), (60, 59), (64, 64)]
