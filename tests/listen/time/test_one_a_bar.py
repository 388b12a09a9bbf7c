"""Where each bar is struck once the bar is heard and the beats are assumed, and said to be."""

from dataclasses import replace

import mir_eval
import numpy as np
import pytest

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.grid import with_positions
from stackline.listen.time.beats import find_beats
from stackline.listen.time.one_a_bar import is_struck_once_a_bar
from stackline.listen.time.time_hints import TimeHints
from stackline.report.files.table import render
from stackline.report.words.take_view import TakeView
from stackline.shared.notes import Attack, Beat, BeatGrid, Note
from stackline.shared.take import Source, Take
from tests.listen.time.test_beats import clicks_at

ROOTS = (48, 53, 58, 51, 56, 49, 54, 47)


def struck(onsets_s: np.ndarray, *, every: int = 1) -> tuple[Attack, ...]:
    """Chords at some times, a new one with each or with every so many."""
    return find_attacks(
        [
            Note(onset_s=at, offset_s=at + 1.0, midi=midi, velocity=64, confidence=0.9)
            for i, at in enumerate(map(float, onsets_s))
            for root in (ROOTS[i // every % len(ROOTS)],)
            for midi in (root, root + 4, root + 10)
        ]
    )


def even(bar_s: float, count: int, seed: int = 0) -> np.ndarray:
    """Onsets of a player with 12 ms of timing."""
    return 0.8 + bar_s * np.arange(count) + np.random.default_rng(seed).normal(0, 0.012, count)


@pytest.mark.parametrize("bar_s", [1.5, 2.0, 2.6, 3.4])
def test_one_chord_a_bar_is_taken_for_the_bar(bar_s: float) -> None:
    """Downbeats lie on the attacks (mir_eval, 70 ms); beats are assumed, with little trust."""
    onsets = even(bar_s, 20)
    grid = find_beats(struck(onsets))
    downbeats = np.array([beat.time_s for beat in grid.beats if beat.number == 1])
    assert mir_eval.beat.f_measure(onsets, downbeats) > 0.95
    assert grid.source == "assumed"
    assert grid.confidence < 0.5
    assert grid.tempo_bpm == pytest.approx(240 / bar_s, rel=0.02)


def test_a_bar_of_rest_is_counted() -> None:
    """A chord left out leaves its bar empty, not longer."""
    onsets = np.delete(even(2.0, 20), [7, 13])
    grid = find_beats(struck(onsets))
    assert grid.source == "assumed"
    assert sum(beat.number == 1 for beat in grid.beats) == pytest.approx(20, abs=1)


def test_the_players_meter_fills_the_bar() -> None:
    """In three the same attacks are three beats apart; the beats are assumed all the same."""
    grid = find_beats(struck(even(2.0, 20)), hints=TimeHints(beats_per_bar=3))
    assert (grid.beats_per_bar, grid.source) == (3, "assumed")
    assert grid.tempo_bpm == pytest.approx(90, rel=0.02)


def test_a_tempo_that_is_given_is_no_assumption() -> None:
    """With the tempo the beats between are known."""
    onsets = even(2.0, 20)
    grid = find_beats(struck(onsets), hints=TimeHints(tempo_bpm=120))
    beats = np.array([beat.time_s for beat in grid.beats])
    true = np.arange(onsets[0], onsets[-1] + 0.1, 0.5)
    assert mir_eval.beat.f_measure(true, beats) > 0.95
    assert grid.confidence > 0.5


def test_slow_quarter_notes_are_beats_not_bars() -> None:
    """The same chord four times, then the next: what is struck is the beat."""
    grid = find_beats(struck(even(1.25, 40), every=4))
    assert grid.tempo_bpm == pytest.approx(48, rel=0.03)


def test_a_noise_after_each_chord_is_no_beat() -> None:
    """A pedal let go once a bar tells nothing of the beats; a click on each of them does."""
    onsets = even(2.0, 20)
    pedal = find_beats(struck(onsets), clicks=clicks_at(onsets + 1.3))
    assert pedal.source == "assumed"
    metronome = find_beats(struck(onsets), clicks=clicks_at(0.8 + 0.5 * np.arange(80)))
    assert metronome.confidence > 0.9
    assert metronome.tempo_bpm == pytest.approx(120, rel=0.01)


def test_chords_at_random_are_no_bars() -> None:
    """Two to five seconds apart, anyhow: no grid."""
    onsets = 0.8 + np.cumsum(np.random.default_rng(1).uniform(1.5, 5.0, 24))
    assert find_beats(struck(onsets)).beats == ()


def test_readers_are_told_that_the_tempo_is_a_guess() -> None:
    """The table's heading says "perhaps" where the grid has less than even odds."""
    attacks = struck(even(2.0, 20))
    grid = find_beats(attacks)
    take = Take(
        source=Source(name="take.wav", duration_s=45.0, sha256="0" * 64),
        ear="told 1",
        tuning_cents=0.0,
        grid=grid,
        notes=tuple(note for attack in attacks for note in attack.struck),
        attacks=with_positions(attacks, grid),
        voicings=(),
        motions=(),
        version="0",
    )
    assert "perhaps 120 beats a minute" in render(TakeView(take)).splitlines()[0]
    sure = replace(take, grid=replace(grid, confidence=0.9))
    assert "perhaps" not in render(TakeView(sure)).splitlines()[0]


def test_a_grid_with_attacks_on_one_beat_alone_is_known_as_such() -> None:
    """Bars struck on their one are; struck on one and three, or between beats, they are not."""
    grid = BeatGrid(
        beats=tuple(Beat(time_s=0.5 * i, number=i % 4 + 1) for i in range(41)),
        tempo_bpm=120.0,
        beats_per_bar=4,
        source="heard",
        confidence=0.9,
    )
    assert is_struck_once_a_bar(grid, struck(2.0 * np.arange(10)))
    assert is_struck_once_a_bar(grid, struck(1.0 + 2.0 * np.arange(9)))
    assert not is_struck_once_a_bar(grid, struck(1.0 * np.arange(20)))
    assert not is_struck_once_a_bar(grid, struck(1.75 + 2.0 * np.arange(9)))
    assert not is_struck_once_a_bar(replace(grid, beats=()), struck(2.0 * np.arange(10)))
