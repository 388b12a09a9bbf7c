"""Beats of made comping, scored with mir_eval (0.8): hits lie within 70 ms of a true beat."""

import itertools

import mir_eval
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.other_sounds.clicks import Clicks
from stackline.listen.time.beats import find_beats
from stackline.listen.time.strokes import BINS, density
from stackline.listen.time.time_hints import TimeHints
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Attack, BeatGrid, Note

# Bars of comping in swing, in beats from 0 (common practice); 2/3 is the swung off-beat.
BARS = ((0.0, 5 / 3), (0.0, 2.0), (0.0, 5 / 3, 3.0), (1.0, 8 / 3), (0.0,), (0.0, 1.0, 2.0, 11 / 3))


def comping(
    bpm: float, *, bars: int = 24, seed: int = 0, drift: float = 0.0, start_s: float = 0.3
) -> tuple[tuple[Attack, ...], np.ndarray]:
    """Attacks of a player with 10 ms of human timing, and the true beats."""
    rng = np.random.default_rng(seed)
    periods = 60 / bpm * (1 + drift * np.sin(np.arange(4 * bars + 1) / 12))
    return comping_on(periods, rng, start_s=start_s)


def comping_on(
    periods_s: np.ndarray, rng: np.random.Generator, *, start_s: float
) -> tuple[tuple[Attack, ...], np.ndarray]:
    """The same on beats of given lengths, four to a bar, one more than are played."""
    bars = len(periods_s) // 4
    beats = start_s + np.concatenate(([0.0], np.cumsum(periods_s)))
    notes = []
    for bar in range(bars):
        root = int(rng.integers(48, 60))
        for place in BARS[int(rng.integers(len(BARS)))]:
            at = float(np.interp(4 * bar + place, np.arange(len(beats)), beats))
            for pitch in (0, 4, 10, 14):
                onset_s = max(0.0, at + float(rng.normal(0, 0.01)))
                notes.append(
                    Note(
                        onset_s=onset_s,
                        offset_s=onset_s + 0.3,
                        midi=root + pitch,
                        velocity=70,
                        confidence=0.9,
                    )
                )
    return find_attacks(notes), beats[: 4 * bars]


def clicks_at(times_s: np.ndarray) -> Clicks:
    """Clear clicks where no string is struck."""
    count = len(times_s)
    return Clicks(
        time_s=times_s,
        strength=np.ones(count),
        gone_db=np.full(count, 15.0),
        alone=np.ones(count, bool),
    )


def times(grid: BeatGrid) -> np.ndarray:
    """The times of all beats."""
    return np.array([beat.time_s for beat in grid.beats])


@pytest.mark.parametrize("bpm", [60, 76, 92, 110, 126, 144, 168, 184])
def test_swung_comping_shows_its_tempo_and_beats(bpm: float) -> None:
    """Tempo within 1 %, beats with F above 0.9, from attacks half of which are off the beat."""
    attacks, beats = comping(bpm)
    grid = find_beats(attacks)
    assert grid.tempo_bpm == pytest.approx(bpm, rel=0.01)
    assert mir_eval.beat.f_measure(beats, times(grid)) > 0.9
    assert grid.confidence > 0.5


@pytest.mark.parametrize("drift", [0.01, 0.03])
def test_a_tempo_that_breathes_is_followed(drift: float) -> None:
    """Some per cent faster and slower within some bars, as without a metronome."""
    attacks, beats = comping(108, drift=drift)
    assert mir_eval.beat.f_measure(beats, times(find_beats(attacks))) > 0.9


def test_a_slow_ending_is_followed() -> None:
    """The last eight beats a quarter slower, beat by beat: the path bends with them."""
    periods = np.full(96, 0.55)
    periods[-8:] *= 1 + 0.25 * np.arange(1, 9) / 8
    beats = 0.4 + np.concatenate(([0.0], np.cumsum(periods)))
    notes = [
        Note(onset_s=at, offset_s=at + 0.3, midi=root + pitch, velocity=70, confidence=0.9)
        for i, at in enumerate(map(float, beats))
        for root in (48 + i // 4 * 5 % 12,)
        for pitch in (0, 4, 10)
    ]
    grid = find_beats(find_attacks(notes))
    assert mir_eval.beat.f_measure(beats, times(grid)) > 0.95


def test_a_waltz_is_heard_in_three() -> None:
    """New chords on one, the same again on two, three or the half before: meter and downbeats."""
    rng = np.random.default_rng(5)
    notes = []
    bars = ((0.0, 1.0), (0.0, 1.0, 2.0), (0.0, 5 / 3), (0.0, 2.0), (1.0, 2.0))
    for bar in range(30):
        for place in bars[int(rng.integers(len(bars)))]:
            at = 0.5 + 0.45 * (3 * bar + place) + float(rng.normal(0, 0.008))
            root = 48 + bar * 5 % 12
            notes += [
                Note(onset_s=at, offset_s=at + 0.3, midi=root + p, velocity=70, confidence=0.9)
                for p in (0, 4, 10)
            ]
    grid = find_beats(find_attacks(notes))
    assert (grid.beats_per_bar, grid.source) == (3, "heard")
    downbeats = np.array([beat.time_s for beat in grid.beats if beat.number == 1])
    assert mir_eval.beat.f_measure(0.5 + 1.35 * np.arange(30), downbeats) > 0.9


@pytest.mark.parametrize("bpm", [72, 96, 140])
def test_changes_of_the_chords_tell_the_beat_from_its_half(bpm: float) -> None:
    """Straight eighths, more attacks off the beat than on it; chords change on the one."""
    rng = np.random.default_rng(2)
    bars = ((0.0, 1.5, 2.5), (0.0, 2.5), (0.0, 1.5, 3.5), (0.0, 0.5, 2.5), (0.0, 1.5))
    notes, root = [], 48
    beat_s = 60 / bpm
    for bar in range(20):
        for place in bars[int(rng.integers(len(bars)))]:
            if place in (0.0, 3.5):
                root = 48 + (bar + (place == 3.5)) * 5 % 12
            at = 0.5 + beat_s * (4 * bar + place) + float(rng.normal(0, 0.006))
            notes += [
                Note(onset_s=at, offset_s=at + 0.2, midi=root + p, velocity=70, confidence=0.9)
                for p in (0, 4, 10)
            ]
    grid = find_beats(find_attacks(notes))
    assert mir_eval.beat.f_measure(0.5 + beat_s * np.arange(80), times(grid)) > 0.9


def test_clicks_lead_where_attacks_are_few() -> None:
    """A metronome between sparse, late chords: beats stand on its clicks."""
    clicked = 0.5 + 0.625 * np.arange(64)
    notes = [
        Note(onset_s=at, offset_s=at + 0.4, midi=60 + i % 5, velocity=70, confidence=0.9)
        for i, at in enumerate(map(float, clicked[2::5] + 0.31))
    ]
    grid = find_beats(find_attacks(notes), clicks=clicks_at(clicked))
    played = clicked[(clicked > notes[0].onset_s - 0.7) & (clicked < notes[-1].onset_s + 0.7)]
    assert mir_eval.beat.f_measure(played, times(grid)) > 0.95


def test_a_count_gives_tempo_phase_and_the_one() -> None:
    """Four clicks, then comping at that tempo: bar one begins a beat after the last click."""
    attacks, beats = comping(104, start_s=4.0, seed=3)
    period_s = 60 / 104
    grid = find_beats(attacks, clicks=clicks_at(4.0 - period_s * np.arange(4, 0, -1)))
    assert mir_eval.beat.f_measure(beats, times(grid)) > 0.95
    assert min(grid.beats, key=lambda beat: abs(beat.time_s - 4.0)).number == 1
    assert (grid.source, grid.confidence > 0.9) == ("heard", True)


def test_clicks_at_random_change_nothing() -> None:
    """Speech and noises click as well: the beats are those of the attacks."""
    attacks, beats = comping(112)
    noise = np.sort(np.random.default_rng(7).uniform(0.0, beats[-1], 40))
    grid = find_beats(attacks, clicks=clicks_at(noise))
    assert mir_eval.beat.f_measure(beats, times(grid)) > 0.9


@pytest.mark.parametrize("seed", range(8))
def test_rubato_has_no_grid(seed: int) -> None:
    """Attacks at random intervals: no beats, no tempo."""
    onsets = np.cumsum(np.random.default_rng(seed).uniform(0.3, 1.6, 40))
    notes = [
        Note(onset_s=float(at), offset_s=float(at) + 0.2, midi=60, velocity=64, confidence=0.9)
        for at in onsets
    ]
    grid = find_beats(find_attacks(notes))
    assert grid.beats == ()
    assert grid.tempo_bpm is None


def test_few_attacks_show_no_pulse() -> None:
    """Four chords could be anything."""
    attacks, _ = comping(100, bars=2)
    assert find_beats(attacks[:4]).tempo_bpm is None
    assert find_beats(()) == BeatGrid()


def test_a_given_tempo_is_believed() -> None:
    """Even where the sound would say its double."""
    attacks, beats = comping(120)
    grid = find_beats(attacks, hints=TimeHints(tempo_bpm=60))
    assert grid.tempo_bpm == pytest.approx(60, rel=0.01)
    assert grid.confidence > 0.9
    assert len(grid.beats) == pytest.approx(len(beats) / 2, abs=2)


def test_a_given_meter_numbers_the_beats() -> None:
    """Waltz: 1 2 3 1 2 3, and the grid says that it was told."""
    attacks, _ = comping(120)
    grid = find_beats(attacks, hints=TimeHints(beats_per_bar=3))
    numbers = [beat.number for beat in grid.beats]
    assert set(numbers) == {1, 2, 3}
    assert all(b == a % 3 + 1 for a, b in itertools.pairwise(numbers))
    assert (grid.beats_per_bar, grid.source) == (3, "hint")


def test_bars_are_heard_where_chords_change() -> None:
    """New notes on every fourth beat, repeated ones between: the downbeat is heard."""
    notes = []
    for beat in range(64):
        root = 48 + beat // 4 * 5 % 12
        for pitch in (root, root + 4, root + 10):
            at = 1.0 + 0.5 * beat
            notes.append(
                Note(onset_s=at, offset_s=at + 0.3, midi=pitch, velocity=64, confidence=0.9)
            )
    grid = find_beats(find_attacks(notes[3:]))
    assert grid.source == "heard"
    downbeats = [beat.time_s for beat in grid.beats if beat.number == 1]
    assert mir_eval.beat.f_measure(1.0 + 2.0 * np.arange(16), np.array(downbeats)) > 0.9


def test_where_nothing_tells_bars_they_are_assumed() -> None:
    """One chord on every beat: the first attack is taken for a one, and the grid says so."""
    notes = [
        Note(onset_s=1 + 0.5 * i, offset_s=1.4 + 0.5 * i, midi=60, velocity=64, confidence=0.9)
        for i in range(40)
    ]
    grid = find_beats(find_attacks(notes))
    assert grid.source == "assumed"
    first = min(grid.beats, key=lambda beat: abs(beat.time_s - 1.0))
    assert first.number == 1


@given(seed=st.integers(0, 30), bpm=st.floats(55, 190))
@settings(max_examples=15, deadline=None)
def test_a_grid_covers_all_attacks_in_rising_time(seed: int, bpm: float) -> None:
    """Whatever is found: beats rise, begin at or after 0, and reach around the attacks."""
    attacks, _ = comping(bpm, bars=12, seed=seed)
    found = times(find_beats(attacks, hints=TimeHints(tempo_bpm=bpm)))
    assert np.all(np.diff(found) > 0)
    assert found[0] >= 0.0
    assert found[-1] >= attacks[-1].onset_s - 30 / bpm


@pytest.mark.parametrize("bpm", [29.0, 401.0, float("nan")])
def test_impossible_tempo(bpm: float) -> None:
    """The sentence says what is allowed."""
    with pytest.raises(Complaint, match="beats a minute is out of range; give 30 to 400"):
        find_beats((), hints=TimeHints(tempo_bpm=bpm))


@pytest.mark.parametrize("beats_per_bar", [0, -4, 17])
def test_impossible_meter(beats_per_bar: int) -> None:
    """The sentence says what is allowed."""
    with pytest.raises(Complaint, match="is out of range; give 1 to 16, such as 4"):
        find_beats((), hints=TimeHints(beats_per_bar=beats_per_bar))


@pytest.mark.parametrize("bpm", [45.0, 110.0, 250.0])
def test_the_density_is_a_density(bpm: float) -> None:
    """Positive, mean 1 over the beat (a definition), highest on the beat."""
    values = density(bpm)
    assert len(values) == BINS
    assert values.min() > 0
    assert values.mean() == pytest.approx(1.0)
    assert values.argmax() == 0
