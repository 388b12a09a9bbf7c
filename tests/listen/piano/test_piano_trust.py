"""The chance that an attack is exact, and how hard its notes were struck."""

import numpy as np
import pytest
from scipy import stats

from stackline.listen.piano.piano_decoding import Candidates
from stackline.listen.piano.piano_ear import RULES
from stackline.listen.piano.piano_trust import confidences, trust_table
from stackline.listen.piano.piano_velocity import MIDDLE, velocities

KEEP = RULES.keep


def _found(*attacks: tuple[float, ...], key: int = 30, apart_s: float = 5.0) -> Candidates:
    """Attacks `apart_s` apart, each a row of log odds for keys from `key` up."""
    rows = [(i * apart_s + j * 1e-3, key + j, odds)
            for i, one in enumerate(attacks) for j, odds in enumerate(one)]  # fmt: skip
    time_s, keys, odds = (np.array(column) for column in zip(*rows, strict=True))
    return Candidates(time_s=time_s, key=keys, evidence=odds, velocity=np.full(len(rows), 0.5))


def _chances(*attacks: tuple[float, ...]) -> list[float]:
    """The chance of each attack: the least of its kept keys."""
    found = _found(*attacks)
    kept = found.evidence >= KEEP
    chance = confidences(found, kept)
    starts = np.flatnonzero(np.diff(found.time_s) > 1) + 1
    return [part.min() for part in np.split(np.where(kept, chance, 1.0), starts)]


def test_trust_rests_on_all_candidates() -> None:
    """The joint chance is the product of the single ones (independent events, any handbook)."""
    found = _found((2.5, -0.5, 4.5))
    _, ((joint, doubt, weakest, strongest, _, count, _, rings, one),) = trust_table(
        found, found.evidence >= KEEP
    )
    single = 1 / (1 + np.exp(-np.array([2.5, 0.5, 4.5])))
    assert np.exp(joint) == pytest.approx(np.prod(single))
    assert np.exp(doubt) == pytest.approx(-joint)
    assert (weakest, strongest, count, rings, one) == (2.5, 0.5, 0.2, 0.0, 1.0)


def test_what_may_hide_is_told_from_what_may_not() -> None:
    """Partials 2, 3, 4 of a key stand 12, 19, 24 semitones above it (acoustics)."""
    odds = [8.0] + [-4.0] * 24
    for step, hides in ((12, True), (19, True), (24, True), (13, False), (7, False)):
        odds_here = tuple(-1.0 if i == step else value for i, value in enumerate(odds))
        found = _found(odds_here)
        _, table = trust_table(found, found.evidence >= KEEP)
        assert table[0, 4] == pytest.approx(1.0 if hides else 4.0)


def test_a_key_struck_lately_is_noticed() -> None:
    """Struck again within three seconds, a weakest key may only be ringing on."""
    found = _found((6.0,), (2.0,), apart_s=1.0)
    _, table = trust_table(found, found.evidence >= KEEP)
    assert table[:, -2].tolist() == [0.0, 1.0]


def test_attacks_without_a_kept_key_are_left_out() -> None:
    """Nothing kept, nothing to trust; an empty recording has no attacks."""
    found = _found((-1.0, -2.0), (6.0, 0.0))
    parts, table = trust_table(found, found.evidence >= KEEP)
    assert [part.tolist() for part in parts] == [[2, 3]]
    assert len(table) == 1
    nothing = found.where(np.zeros(4, bool))
    assert trust_table(nothing, np.zeros(0, bool))[0] == []


def test_clear_decisions_are_trusted_more_than_close_ones() -> None:
    """A sure chord is trusted; a weak key kept and a hidden one nearly kept are doubted."""
    octave_above = (8.5, 9.5, 7.5, *[-7.5] * 9)
    sure, weak_kept, nearly_kept = _chances(
        (*octave_above, -7.5), (8.5, KEEP + 0.2, 7.5, -7.5), (*octave_above, KEEP - 0.2)
    )
    assert sure > 0.9
    assert max(weak_kept, nearly_kept) < 0.75


def test_a_key_that_may_hide_makes_an_attack_unsure() -> None:
    """An octave left out at log odds of -1 is to be checked however clear the rest is; one at -4
    is not, nor a key at -1 that hides behind none.
    """
    octave_above = (9.5, 9.5, 9.5, *[-7.5] * 9)
    hiding, clear = _chances((*octave_above, -1.0), (*octave_above, -4.0))
    assert hiding < 0.9 < clear
    (beside,) = _chances((*octave_above[:8], -1.0, *octave_above[9:], -7.5))
    assert beside > 0.9


def test_velocities_follow_the_network_and_stand_around_the_middle() -> None:
    """The order is the network's; the median is the middle."""
    said = np.linspace(0.1, 0.9, 9)
    found = velocities(said)
    assert stats.spearmanr(said, found).statistic == pytest.approx(1.0)
    assert np.median(found) == MIDDLE
    assert len(velocities(np.zeros(0))) == 0
