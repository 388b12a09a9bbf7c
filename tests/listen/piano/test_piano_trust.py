"""The chance that an attack is exact, and how hard its notes were struck."""

import numpy as np
import pytest
from scipy import stats

from stackline.listen.piano.piano_judge import N_INPUTS
from stackline.listen.piano.piano_trust import chance_exact, trust_inputs
from stackline.listen.piano.piano_velocity import MIDDLE, velocities


def test_trust_rests_on_all_candidates() -> None:
    """The joint chance is the product of the single ones (independent events, any handbook)."""
    odds, margins = np.array([2.5, 0.5, 4.5]), np.array([2.0, -1.0, 4.0])
    joint, weakest, strongest, _, _, one = trust_inputs(odds, odds, margins)
    single = 1 / (1 + np.exp(-np.array([2.5, -0.5, 4.5])))
    assert np.exp(joint) == pytest.approx(np.prod(single))
    assert (weakest, strongest, one) == (2.0, 1.0, 1.0)


def test_clear_decisions_are_trusted_more_than_close_ones() -> None:
    """A sure chord is trusted, one on the edge is not, whichever side the edge is on."""
    sure, weak_kept, nearly_kept = (
        chance_exact(odds, odds, odds - 0.5)
        for odds in (
            np.array([8.5, 9.5, 7.5, -7.5]),
            np.array([8.5, 0.7, 7.5, -7.5]),
            np.array([8.5, 9.5, 7.5, 0.3]),
        )
    )
    assert sure > 0.9
    assert max(weak_kept, nearly_kept) < 0.75


def test_velocities_follow_the_network_and_stand_around_the_middle() -> None:
    """With everything else the same, the order is the network's; the median is the middle."""
    said = np.linspace(0.1, 0.9, 9)
    found = velocities(said, np.zeros((9, N_INPUTS), np.float32))
    assert stats.spearmanr(said, found).statistic == pytest.approx(1.0, abs=0.05)
    assert np.median(found) == MIDDLE
    assert len(velocities(np.zeros(0), np.zeros((0, N_INPUTS)))) == 0
