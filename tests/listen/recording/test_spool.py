import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stackline.listen.recording.spool import Spool


@given(
    blocks=st.lists(st.integers(0, 50), max_size=6),
    part=st.tuples(st.none() | st.integers(-90, 90), st.none() | st.integers(-90, 90)),
)
def test_a_spool_slices_like_an_array(
    blocks: list[int], part: tuple[int | None, int | None]
) -> None:
    """Any slice of step 1, in any state, equals numpy's."""
    values = np.arange(sum(blocks), dtype=np.float32)
    spool, start = Spool(), 0
    for size in blocks:
        spool.append(values[start : start + size])
        start += size
    assert len(spool) == len(values)
    np.testing.assert_array_equal(spool[slice(*part)], values[slice(*part)])


def test_samples_from_a_spool_are_read_only() -> None:
    """What several readers share cannot be changed by one."""
    spool = Spool()
    spool.append(np.ones(4))
    assert not spool[0:4].flags.writeable


def test_steps_are_refused() -> None:
    """A spool is read in order."""
    spool = Spool()
    spool.append(np.ones(4))
    with pytest.raises(ValueError, match="read in order"):
        spool[::2]
