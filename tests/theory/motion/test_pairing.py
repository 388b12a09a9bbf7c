"""Pairing of voices: every note once, nothing crosses, at least cost."""

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from stackline.shared.harmony import VoiceMove
from stackline.theory.motion.pairing import APPEARS, pair_voices

STACK = st.lists(st.integers(40, 84), min_size=0, max_size=5, unique=True).map(sorted)


def cost(moves: Sequence[VoiceMove]) -> int:
    """Semitones moved, and APPEARS for each half voice."""
    return sum(APPEARS if move.semitones is None else abs(move.semitones) for move in moves)


def least_cost(before: list[int], after: list[int]) -> int:
    """The cheapest pairing by trying all that cross nothing and keep every common tone."""
    if not before or not after:
        return APPEARS * (len(before) + len(after))
    a, b = before[0], after[0]
    options = (
        [abs(a - b) + least_cost(before[1:], after[1:])]
        if a == b or is_free(a, b, before, after)
        else []
    )
    if a not in after:
        options.append(APPEARS + least_cost(before[1:], after))
    if b not in before:
        options.append(APPEARS + least_cost(before, after[1:]))
    return min(options)


def is_free(a: int, b: int, before: list[int], after: list[int]) -> bool:
    """Whether neither note is a common tone."""
    return a not in after and b not in before


@given(STACK, STACK)
def test_every_note_is_in_exactly_one_pair(before: list[int], after: list[int]) -> None:
    """Nothing is lost and nothing is used twice."""
    moves = pair_voices(before, after)
    assert sorted(m.from_midi for m in moves if m.from_midi is not None) == before
    assert sorted(m.to_midi for m in moves if m.to_midi is not None) == after


SMALL = st.lists(st.integers(50, 75), min_size=1, max_size=3, unique=True).map(sorted)


@given(SMALL, SMALL)
def test_no_cheaper_pairing_exists(before: list[int], after: list[int]) -> None:
    """Against an exhaustive search of what crosses nothing."""
    assert cost(pair_voices(before, after)) == least_cost(before, after)


@given(STACK, STACK)
def test_nothing_crosses(before: list[int], after: list[int]) -> None:
    """Voices keep their order."""
    pairs = [(m.from_midi, m.to_midi) for m in pair_voices(before, after)]
    whole = sorted((a, b) for a, b in pairs if a is not None and b is not None)
    assert [to for _, to in whole] == sorted(to for _, to in whole)


def test_what_harmony_asks_for_goes_before_a_common_tone() -> None:
    """G13 to C6: F falls to E though another E is there to stay; that one goes on to D or C."""
    moves = pair_voices([52, 53, 59], [50, 52, 59], [(53, 52)])
    assert [(m.from_midi, m.to_midi) for m in moves] == [(52, 50), (53, 52), (59, 59)]


@given(STACK, STACK)
def test_common_tones_stay(before: list[int], after: list[int]) -> None:
    """A pitch in both stacks is paired with itself."""
    kept = {m.from_midi for m in pair_voices(before, after) if m.semitones == 0}
    assert kept == set(before) & set(after)


@given(STACK, STACK, st.integers(-12, 12))
def test_pairing_commutes_with_transposition(before: list[int], after: list[int], up: int) -> None:
    """Moving both stacks moves the pairs."""
    moved = pair_voices([p + up for p in before], [p + up for p in after])
    assert cost(moved) == cost(pair_voices(before, after))


def test_a_ii_v_by_hand() -> None:
    """Dm9 to G13: F stays, A stays, C falls to B, E stays (common practice)."""
    moves = pair_voices([53, 57, 60, 64], [53, 57, 59, 64])
    assert [(m.from_midi, m.to_midi) for m in moves] == [(53, 53), (57, 57), (60, 59), (64, 64)]
