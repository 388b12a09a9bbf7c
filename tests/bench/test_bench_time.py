"""Scores of the time bench: exact on what is exactly right, low on what is not."""

from dataclasses import replace

import numpy as np
import pytest

from bench.scoring.time_scoring import score
from fixtures.played.takes import LISTED, Style, make_take
from fixtures.played.truth import TrueTake
from fixtures.sounded.time_scenes import IN_THREE, ONE_A_BAR, breathing, free, moved
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.grid import with_positions
from stackline.listen.hearing import Hearing
from stackline.shared.notes import Beat, BeatGrid, Note
from stackline.shared.sound import Tuning
from stackline.shared.take import Source


def heard(take: TrueTake, *, late_beats: int = 0, bpm: float | None = None) -> Hearing:
    """What a perfect listener says, who may have the one some beats late."""
    grid = BeatGrid(
        beats=tuple(
            Beat(time_s=time_s, number=(i - late_beats) % take.beats_per_bar + 1)
            for i, time_s in enumerate(take.beats_s)
        ),
        tempo_bpm=bpm or take.tempo_bpm,
        beats_per_bar=take.beats_per_bar,
        source="heard",
        confidence=0.9,
    )
    notes = tuple(
        Note(
            onset_s=one.onset_s,
            offset_s=one.offset_s,
            midi=one.midi,
            velocity=one.velocity,
            confidence=0.9,
        )
        for one in take.notes
    )
    attacks = with_positions(find_attacks(notes), grid)
    return Hearing(
        source=Source(name="take", duration_s=take.duration_s, sha256="0" * 64),
        ear="perfect 1",
        tuning=Tuning(offset_cents=0.0, confidence=1.0),
        grid=grid,
        notes=notes,
        attacks=attacks,
    )


@pytest.mark.parametrize("style", [LISTED, IN_THREE], ids=["four", "three"])
def test_a_perfect_listener_scores_in_full(style: Style) -> None:
    """Beats, downbeats, tempo and eighths of the bar."""
    take = make_take(3, style, duration_s=40.0)
    found = score(take, heard(take))
    assert (found.beat_f, found.downbeat_f, found.tempo_right) == (1.0, 1.0, True)
    assert found.eighths[0] >= 0.97 * found.eighths[1] > 20
    assert found.false_attacks == 0


def test_bars_that_begin_late_cost_downbeats_and_eighths_not_beats() -> None:
    """The one on two: every attack stands on the wrong beat."""
    take = make_take(3, LISTED, duration_s=40.0)
    found = score(take, heard(take, late_beats=1))
    assert found.beat_f == 1.0
    assert found.downbeat_f == 0.0
    assert found.eighths[0] == 0


def test_a_tempo_five_per_cent_off_is_wrong() -> None:
    """Within 4 % counts."""
    take = make_take(3, LISTED, duration_s=40.0)
    assert score(take, heard(take, bpm=take.tempo_bpm * 1.05)).tempo_right is False
    assert score(take, heard(take, bpm=take.tempo_bpm * 1.03)).tempo_right is True


def test_no_grid_and_little_trust_are_uncertain() -> None:
    """What the take itself says."""
    take = make_take(3, LISTED, duration_s=40.0)
    right = heard(take)
    assert score(take, replace(right, grid=BeatGrid())).uncertain
    assert score(take, replace(right, grid=replace(right.grid, confidence=0.4))).uncertain
    assert not score(take, right).uncertain


def test_a_waltz_and_one_chord_a_bar_are_what_they_are_called() -> None:
    """Three beats to the bar; attacks only on ones."""
    waltz = make_take(5, IN_THREE, duration_s=40.0)
    assert waltz.beats_per_bar == 3
    sparse = make_take(5, ONE_A_BAR, duration_s=60.0)
    ones = np.array(sparse.beats_s[::4])
    onsets = np.array([one.onset_s for one in sparse.attacks])
    assert np.abs(onsets[:, None] - ones).min(axis=1).max() < 0.06


def test_a_moved_take_keeps_its_places_in_the_bar() -> None:
    """Attacks and beats go along one curve of time."""
    take = make_take(5, LISTED, duration_s=40.0)
    bent = breathing(np.random.default_rng(0), take).take
    before = np.interp([a.onset_s for a in take.attacks], take.beats_s, range(len(take.beats_s)))
    after = np.interp([a.onset_s for a in bent.attacks], bent.beats_s, range(len(bent.beats_s)))
    inside = (before > 0.1) & (before < len(take.beats_s) - 1.1)
    np.testing.assert_allclose(after[inside], before[inside], atol=0.02)
    assert np.diff(bent.beats_s)[-1] > 1.2 * np.diff(bent.beats_s)[5]
    assert moved(take, lambda times: times + 2.0).beats_s[0] == pytest.approx(take.beats_s[0] + 2)


def test_a_free_take_has_no_beats() -> None:
    """Gaps from 0.3 to 3 s, evenly over their logarithm."""
    take = free(np.random.default_rng(0), make_take(5, LISTED, duration_s=40.0)).take
    assert take.beats_s == ()
    gaps = np.diff([attack.onset_s for attack in take.attacks])
    assert gaps.min() > 0.2
    assert gaps.max() < 3.2
    assert gaps.std() / gaps.mean() > 0.4
