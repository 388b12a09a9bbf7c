"""The general ear's third look: partials of a key from chord to chord of a take."""

import numpy as np
import pytest

from stackline.listen.general import take_classifier
from stackline.listen.general.attack_classifier import review
from stackline.listen.general.partials import RATIOS
from stackline.listen.general.take_classifier import (
    FAINT,
    INTERVALS,
    N_INPUTS,
    Candidates,
    attacks_of,
    habit_inputs,
    habits,
    weighed,
)
from stackline.listen.general.tracking import Strikes

OCTAVE = 4  # where what is known of the octave begins
LOW, UPPER = 39, 51  # C4 and the C above it
COMPANIONS = (43, 44, 46, 48, 41, 49, 50, 37)
ALONE = [0.0, -0.1, -0.3, -0.4, -0.5, -0.5, -0.6]  # levels of partials 1 2 3 4 5 6 8
STRENGTH = [[0.6, 0.5]]
WITH_OCTAVE = [0.0, 0.1, -0.3, -0.2, -0.5, -0.3, -0.4]  # 2, 4, 6 and 8 raised


def take_of(chords: list[dict[int, tuple[float, list[float]]]]) -> Candidates:
    """Chords half a second apart: key to log odds and levels."""
    rows = [(0.5 * i, key, odds, levels) for i, chord in enumerate(chords)
            for key, (odds, levels) in sorted(chord.items())]  # fmt: skip
    time_s, key, odds, levels = zip(*rows, strict=True)
    return Candidates(
        time_s=np.array(time_s), key=np.array(key), odds=np.array(odds),
        levels=np.array(levels, np.float32), strength=np.array(STRENGTH * len(rows)),
    )  # fmt: skip


def playing(octaves: list[float], lows: list[list[float]]) -> Candidates:
    """C4 with another companion each time, and above it a candidate of some log odds."""
    return take_of([
        {LOW: (6.0, low), companion: (6.0, ALONE), UPPER: (odds, ALONE)}
        for odds, low, companion in zip(octaves, lows, COMPANIONS, strict=False)
    ])  # fmt: skip


def row_of(take: Candidates, attack: int) -> tuple[int, np.ndarray]:
    """Index and inputs of the upper C in an attack."""
    rows, table = habit_inputs(take)
    index = int(np.flatnonzero((take.key == UPPER) & (take.time_s == 0.5 * attack))[0])
    return index, table[list(rows).index(index)]


def test_intervals_share_the_partials_that_they_say() -> None:
    """Partial n of a key is one of the key s semitones above when n is a multiple of 2^(s/12).

    Source: equal temperament, f * 2^(s/12); 12, 19, 24 and 28 semitones are 2, 3, 4 and 5 to
    within a hundredth.
    """
    partials = RATIOS[: take_classifier.N_PARTIALS]
    for step, (shared, own) in INTERVALS.items():
        ratio = 2 ** (step / 12)
        assert abs(ratio - round(ratio)) < 0.05
        for place, partial in enumerate(partials):
            assert (partial % round(ratio) == 0) == (place in shared)
        assert sorted((*shared, *own)) == list(range(len(partials)))


def test_candidates_fall_into_attacks() -> None:
    """What follows within 60 ms belongs together (the rule of `attacks`)."""
    assert attacks_of(np.array([0.0, 0.05, 0.1, 0.5, 0.52])).tolist() == [0, 0, 0, 1, 1]
    assert attacks_of(np.zeros(0)).tolist() == []


def test_weights_fit_the_inputs() -> None:
    """The file in the tree was made for these inputs."""
    assert habits().hidden.shape[0] == N_INPUTS


def test_only_likely_keys_above_struck_keys_are_weighed() -> None:
    """An octave above a struck key is; a third above is not, nor what is very unlikely."""
    take = take_of([
        {LOW: (6.0, ALONE), LOW + 4: (6.0, ALONE), UPPER: (1.0, ALONE), LOW + 19: (-9.0, ALONE)}
    ])  # fmt: skip
    rows, table = habit_inputs(take)
    assert take.key[rows].tolist() == [UPPER]
    assert table.shape == (1, N_INPUTS)
    assert FAINT > -9.0


def test_balance_is_compared_with_other_chords() -> None:
    """In one chord of five the second partial is 0.2 stronger against the first."""
    take = playing([1.0] * 5, [WITH_OCTAVE] + [ALONE] * 4)
    _, raised = row_of(take, 0)
    _, usual = row_of(take, 2)
    over_mean, over_least = OCTAVE + 10, OCTAVE + 12
    assert raised[over_mean] == pytest.approx(0.2)
    assert raised[over_least] == pytest.approx(0.2)
    assert usual[over_least] == pytest.approx(0.0, abs=1e-6)
    assert usual[over_mean] == pytest.approx(-0.05)


def test_the_same_chord_again_says_nothing() -> None:
    """Only the upper key differs between the two, so nothing is known from elsewhere."""
    one = {LOW: (6.0, ALONE), 43: (6.0, ALONE)}
    take = take_of([one | {UPPER: (1.0, ALONE)}, one])
    _, inputs = row_of(take, 0)
    assert inputs[OCTAVE] == 1.0
    assert inputs[OCTAVE + 5] == 0.0


def test_a_key_that_always_sounds_like_an_octave_loses_its_octave() -> None:
    """A likely octave in all of eight chords, steady, counts less than one that stands out."""
    always = playing([2.0] * 8, [ALONE] * 8)
    once = playing([2.0] + [-6.0] * 7, [WITH_OCTAVE] + [ALONE] * 7)
    index, _ = row_of(always, 0)
    other, _ = row_of(once, 0)
    assert weighed(always)[index] < 0.0
    assert weighed(once)[other] > weighed(always)[index] + 2.0


def test_nothing_to_weigh_changes_nothing() -> None:
    """No candidates, or none above another: the log odds stay."""
    empty = Candidates(time_s=np.zeros(0), key=np.zeros(0, int), odds=np.zeros(0),
                       levels=np.zeros((0, 7), np.float32), strength=np.zeros((0, 2)))  # fmt: skip
    assert len(weighed(empty)) == 0
    take = take_of([{LOW: (5.0, ALONE), 43: (5.0, ALONE)}])
    assert weighed(take).tolist() == [5.0, 5.0]


def test_a_review_gives_chances() -> None:
    """One for each strike, 0 to 1, and those with nothing below them as they were."""
    take = playing([2.0] * 6, [ALONE] * 6)
    chance = 1 / (1 + np.exp(-take.odds))
    strikes = Strikes(
        time_s=take.time_s,
        frame=np.rint(take.time_s * 86).astype(int),
        key=take.key,
        chance=chance,
        seen=np.hstack((take.levels, take.strength)),
    )
    found = review(strikes)
    lows = take.key != UPPER
    assert found.shape == chance.shape
    assert np.all((found >= 0) & (found <= 1))
    assert found[lows] == pytest.approx(chance[lows])
    assert np.all(found[~lows] < chance[~lows])
