"""Side-slips by pitches: there and back, once or twice, not for good."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stackline.theory.labelling.slips import slip_shifts

HOME, UP, DOWN, OTHER = (53, 58, 63), (54, 59, 64), (52, 57, 62), (50, 57, 64)


# Common practice: a side-slip goes out by a semitone and comes back at once.
@pytest.mark.parametrize(
    ("stacks", "expected"),
    [
        ([HOME, UP, HOME], {1: 1}),
        ([HOME, DOWN, HOME], {1: -1}),
        ([HOME, UP, UP, HOME], {1: 1, 2: 1}),
        ([HOME, UP, HOME, DOWN, HOME], {1: 1, 3: -1}),
        ([HOME, UP, UP, UP, HOME], {}),
        ([HOME, UP, OTHER], {}),
        ([HOME, UP], {}),
        ([(53, 58), (54, 59), (53, 58)], {}),
        ([], {}),
    ],
)
def test_which_stacks_slip(stacks: list[tuple[int, ...]], expected: dict[int, int]) -> None:
    """Index and shift of each slipped stack."""
    assert slip_shifts(stacks) == expected


STACK = st.sampled_from([HOME, UP, DOWN, OTHER])


@given(st.lists(STACK, max_size=12), st.integers(-12, 12))
def test_slips_move_with_the_take(stacks: list[tuple[int, ...]], up: int) -> None:
    """Transposing changes no slip, and neither end of a take is one."""
    found = slip_shifts(stacks)
    assert slip_shifts([tuple(p + up for p in stack) for stack in stacks]) == found
    assert not {0, len(stacks) - 1} & set(found)
