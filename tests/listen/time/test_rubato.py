"""Time that is left and taken up again: rubato, ritardando, and what readers are told.

Passages are made: beats whose lengths wander by a third and more between beats that are even
give no pulse (the definition of rubato; common practice). Beats are scored with mir_eval (0.8).
"""

import itertools
from dataclasses import replace
from fractions import Fraction

import mir_eval
import numpy as np
import pytest

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.grid import with_positions
from stackline.listen.attacks.swing_ratio import swing_ratio
from stackline.listen.time.beats import find_beats
from stackline.listen.time.time_hints import TimeHints
from stackline.listen.time.without_clicks.beat_line import beat_line
from stackline.shared.notes import Attack, Beat, BeatGrid, Note, Passage
from tests.listen.time.test_beats import comping_on, times

BEAT_S = 0.55


def played(
    *, bars: int, free: range = range(0), slows: int = 0, seed: int = 1
) -> tuple[tuple[Attack, ...], np.ndarray]:
    """Comping at 109, some bars of it out of time, and the true beats.

    slows: beats at the end that get slower and slower, down to half the tempo.
    """
    rng = np.random.default_rng(seed)
    lengths = np.full(4 * bars + 1, BEAT_S)
    inside = slice(4 * free.start, 4 * free.stop)
    lengths[inside] *= np.exp(rng.normal(0, 0.4, len(lengths[inside])))
    if slows:
        lengths[-slows:] *= np.linspace(1.0, 2.0, slows)
    return comping_on(lengths, rng, start_s=0.6)


def even(count: int, *, start_s: float = 0.0, number: int = 1) -> tuple[Beat, ...]:
    """Even beats of half a second in four, from a beat of some number."""
    return tuple(
        Beat(time_s=start_s + 0.5 * i, number=(number + i - 1) % 4 + 1) for i in range(count)
    )


LEFT = BeatGrid(
    beats=even(8) + even(8, start_s=10.0),
    tempo_bpm=120.0,
    source="heard",
    confidence=0.9,
    out_of_time=(Passage(start_s=4.2, end_s=9.0),),
)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_a_passage_out_of_time_is_told_and_time_taken_up_again(seed: int) -> None:
    """Ten bars in time, eight out of it, ten in time: beats before and after, none inside."""
    attacks, beats = played(bars=28, free=range(10, 18), seed=seed)
    grid = find_beats(attacks)
    assert grid.tempo_bpm == pytest.approx(60 / BEAT_S, rel=0.02)
    start_s, end_s = float(beats[40]), float(beats[72])
    told_s = sum(
        max(0.0, min(one.end_s, end_s) - max(one.start_s, start_s)) for one in grid.out_of_time
    )
    assert told_s > 0.6 * (end_s - start_s)
    in_time = beats[(beats <= start_s) | (beats >= end_s)]
    heard = times(grid)
    outside = heard[(heard <= start_s + 0.07) | (heard >= end_s - 0.07)]
    assert mir_eval.beat.f_measure(in_time, outside) > 0.9
    for attack in with_positions(attacks, grid):
        assert (attack.position is None) == (not grid.is_in_time(attack.onset_s))


def test_an_introduction_out_of_time_has_no_bars() -> None:
    """Eight free bars, then sixteen in time: bar one is the first in time."""
    attacks, beats = played(bars=24, free=range(8), seed=5)
    grid = find_beats(attacks)
    after = beats[beats >= beats[32]]
    assert mir_eval.beat.f_measure(after, times(grid)) > 0.85
    assert grid.out_of_time[0].start_s < attacks[0].onset_s
    assert min(grid.bars()) in (0, 1)


def test_a_ritardando_is_followed_or_told() -> None:
    """The last eight beats down to half the tempo: no attack of the steady bars is lost."""
    attacks, beats = played(bars=24, slows=8, seed=7)
    grid = find_beats(attacks)
    steady = beats[:-10]
    heard = times(grid)
    assert mir_eval.beat.f_measure(steady, heard[heard < steady[-1] + 0.2]) > 0.95
    assert all(one.start_s > beats[-10] for one in grid.out_of_time)


def test_nothing_but_rubato_has_no_grid() -> None:
    """Twenty-four bars out of time: no beats, and nothing left to be out of."""
    attacks, _ = played(bars=24, free=range(24), seed=3)
    assert find_beats(attacks) == BeatGrid()


def test_a_told_tempo_is_left_less_readily() -> None:
    """A steady take with its tempo told is in time throughout."""
    attacks, _ = played(bars=20)
    grid = find_beats(attacks, hints=TimeHints(tempo_bpm=60 / BEAT_S))
    assert grid.out_of_time == ()
    assert grid.confidence == 1.0


def test_a_told_tempo_may_be_as_fast_as_a_hint_allows() -> None:
    """Chords on each beat at 330 a minute, told."""
    notes = [
        Note(onset_s=at, offset_s=at + 0.1, midi=60 + i % 3, velocity=70, confidence=0.9)
        for i, at in enumerate(1.0 + 60 / 330 * np.arange(40))
    ]
    grid = find_beats(find_attacks(notes), hints=TimeHints(tempo_bpm=330))
    assert grid.tempo_bpm == pytest.approx(330, rel=0.02)


@pytest.mark.parametrize("moved", [-4.0, -3.0, -1.5, 0.0, 0.5, 2.0, 9.0])
def test_the_bar_begins_where_it_is_told(moved: float) -> None:
    """A first beat told on a beat, between beats or before the music is a one of the grid."""
    attacks, beats = played(bars=16, seed=2)
    late = tuple(
        replace(
            one,
            onset_s=one.onset_s + 4.0,
            struck=tuple(
                replace(note, onset_s=note.onset_s + 4.0, offset_s=note.offset_s + 4.0)
                for note in one.struck
            ),
            held=(),
        )
        for one in attacks
    )
    one_s = float(beats[0]) + 4.0 + moved * BEAT_S
    grid = find_beats(late, hints=TimeHints(first_beat_s=one_s))
    ones = [beat.time_s for beat in grid.beats if beat.number == 1]
    assert min(abs(time_s - one_s) for time_s in ones) < 0.06
    assert grid.source == "heard"
    np.testing.assert_allclose(np.diff(times(grid)), BEAT_S, atol=0.03)


def test_a_passage_between_beats_is_one_bar() -> None:
    """Two bars, a passage, two bars: 1, 2, (3), 4, 5; the passage's attacks have no position."""
    assert sorted(set(LEFT.bars())) == [1, 2, 4, 5]
    assert LEFT.unmeasured_bars() == {3}
    assert LEFT.stretches() == ((0, 8), (8, 16))
    attacks = find_attacks(
        [
            Note(onset_s=at, offset_s=at + 0.1, midi=60, velocity=70, confidence=0.9)
            for at in (0.0, 3.5, 4.5, 8.8, 9.98, 11.25)
        ]
    )
    places = [one.position for one in with_positions(attacks, LEFT)]
    assert [(one.bar, one.beat) if one else None for one in places] == [
        (1, 1), (2, 4), None, None, (4, 1), (4, Fraction(7, 2)),
    ]  # fmt: skip


def test_a_stretch_goes_on_to_the_passage_at_its_own_tempo() -> None:
    """An attack after the last beat before a passage belongs to the stretch before."""
    attacks = find_attacks([Note(onset_s=4.0, offset_s=4.1, midi=60, velocity=70, confidence=0.9)])
    position = with_positions(attacks, LEFT)[0].position
    assert position is not None
    assert (position.bar, position.beat) == (3, 1)


def test_beats_counted_through_a_passage_fill_whole_bars() -> None:
    """For those who must count on: even beats, numbers without a break, the same beats outside."""
    counted = LEFT.counted_through()
    numbers = [beat.number for beat in counted]
    assert all(b == a % 4 + 1 for a, b in itertools.pairwise(numbers))
    assert [beat for beat in counted if beat in LEFT.beats] == list(LEFT.beats)
    lengths = np.diff([beat.time_s for beat in counted])
    assert lengths.min() > 0.4
    assert lengths.max() < 0.62
    assert BeatGrid().counted_through() == ()


def test_no_divided_beat_lies_across_a_passage() -> None:
    """The gap between stretches is no long beat that swings."""
    offs = [0.5 * i + 1 / 3 for i in range(7)] + [10.0 + 0.5 * i + 1 / 3 for i in range(7)]
    ons = [0.5 * i for i in range(8)] + [10.0 + 0.5 * i for i in range(8)] + [7.5]
    attacks = find_attacks(
        [
            Note(onset_s=at, offset_s=at + 0.05, midi=60, velocity=70, confidence=0.9)
            for at in sorted(offs + ons)
        ]
    )
    assert swing_ratio(attacks, LEFT) == pytest.approx(2.0, abs=0.02)


def test_a_line_of_beats_takes_off_how_late_off_beats_come() -> None:
    """Even beats of 0.5 s, off-beats 40 ms late: the beats stay where they are."""
    places = np.array([0.0, 0.5, 1.0, 2.5, 3.0, 4.5, 5.5, 6.0, 7.0])
    late = np.where(places % 1 == 0.5, 0.04, 0.0)
    line = beat_line(places, 2.0 + 0.5 * places + late, np.full(len(places), 0.5))
    np.testing.assert_allclose(line, 2.0 + 0.5 * np.arange(9), atol=0.008)


def test_one_attack_at_a_told_tempo_has_beats() -> None:
    """A single chord, the tempo told: it stands on a beat of that length."""
    line = beat_line(np.array([0.0]), np.array([3.0]), np.array([0.5]))
    np.testing.assert_allclose(np.diff(line), 0.5)
    assert line[0] == pytest.approx(3.0)
