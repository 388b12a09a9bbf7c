"""What stands above a key in other chords of a take, and what the judge makes of it."""

import numpy as np
import pytest

from stackline.listen.piano.piano_habits import N_HABITS, groups_of, habit_inputs
from stackline.listen.piano.piano_judge import N_INPUTS, judged

Take = tuple[np.ndarray, np.ndarray, np.ndarray]


def _take(chords: list[dict[int, float]]) -> Take:
    """Candidates of chords half a second apart: key 0..87 to log odds."""
    rows = [(0.5 * i, key, odds) for i, chord in enumerate(chords) for key, odds in chord.items()]
    time_s, key, odds = (np.array(column) for column in zip(*rows, strict=True))
    return time_s, key.astype(int), odds.astype(float)


def test_candidates_fall_into_attacks() -> None:
    """What follows within 60 ms belongs together (the rule of `attacks`)."""
    assert groups_of(np.array([0.0, 0.05, 0.1, 0.5, 0.52])).tolist() == [0, 0, 0, 1, 1]


def test_only_keys_above_struck_keys_are_described() -> None:
    """An octave above a struck key is, a third above is not."""
    take = _take([{39: 5.0, 43: 5.0, 51: 1.0}])
    table = habit_inputs(*take)
    assert table.shape == (3, N_HABITS)
    assert np.flatnonzero(table.any(axis=1)).tolist() == [2]


def test_other_chords_count_once_and_repeats_not_at_all() -> None:
    """Of six chords two are the same as the first; the other three have two sets of keys."""
    chord, other, third = {39: 5.0, 43: 5.0}, {39: 5.0, 46: 5.0}, {39: 5.0, 41: 5.0}
    odds = (1.0, 1.5, 2.0, -1.0, -1.0, 3.0)
    chords = [chord, chord, chord, other, other, third]
    take = _take([one | {51: value} for one, value in zip(chords, odds, strict=True)])
    table = habit_inputs(*take)
    first = table[int(np.flatnonzero(take[1] == 51)[0])]
    flag, count, mean, median, highest = first[:5]
    assert (flag, count) == (1.0, 2 / 8)
    assert (mean, median, highest) == pytest.approx((1.0, 1.0, 3.0))


def test_neighbours_tell_too() -> None:
    """The octave above the key beside counts among those of the zone."""
    alone = _take([{39: 5.0, 51: 1.0}, {45: 5.0}])
    zone = _take([{39: 5.0, 51: 1.0}, {40: 5.0, 52: 4.0}])
    assert habit_inputs(*alone)[1, 5] == 0.0
    assert habit_inputs(*zone)[1, 5:7].tolist() == pytest.approx([1 / 16, 4.0])


def test_a_key_that_always_sounds_like_an_octave_loses_its_octave() -> None:
    """The same faint octave above one key in seven chords counts less than it does once."""
    companions = (41, 43, 44, 46, 48, 50, 34)
    always = _take([{39: 6.0, key: 6.0, 51: 1.5} for key in companions])
    once = _take([{39: 6.0, companions[0]: 6.0, 51: 1.5}]
                 + [{39: 6.0, key: 6.0} for key in companions[1:]])  # fmt: skip
    at = 2
    assert always[1][at] == once[1][at] == 51
    odds = [
        judged(*take, np.zeros((len(take[1]), N_INPUTS), np.float32)) for take in (always, once)
    ]
    assert odds[0][at] < odds[1][at]


def test_nothing_to_judge_changes_nothing() -> None:
    """No candidates: nothing comes out."""
    empty = np.zeros(0)
    assert habit_inputs(empty, empty.astype(int), empty).shape == (0, N_HABITS)
    assert len(judged(empty, empty.astype(int), empty, np.zeros((0, N_INPUTS)))) == 0
