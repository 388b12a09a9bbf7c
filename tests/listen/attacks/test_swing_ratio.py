"""The swing ratio, by its definition (beat-upbeat ratio, F. Benadon, 2006; memory)."""

import numpy as np
import pytest

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.swing_ratio import swing_ratio
from stackline.shared.notes import Beat, BeatGrid, Note

BEAT_S = 0.5


def _grid(n_beats: int) -> BeatGrid:
    beats = tuple(Beat(time_s=1 + i * BEAT_S, number=i % 4 + 1) for i in range(n_beats))
    return BeatGrid(beats=beats, tempo_bpm=120.0, source="heard", confidence=0.9)


def _notes(times_s: list[float]) -> list[Note]:
    return [
        Note(onset_s=t, offset_s=t + 0.1, midi=60, velocity=70, confidence=0.9) for t in times_s
    ]


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0, 3.0])
def test_the_ratio_is_long_to_short(ratio: float) -> None:
    """Off-beats that divide each beat by a ratio give that ratio."""
    part = ratio / (1 + ratio)
    times = [1 + (i + off) * BEAT_S for i in range(12) for off in (0.0, part)]
    assert swing_ratio(find_attacks(_notes(times)), _grid(13)) == pytest.approx(ratio, abs=0.02)


def test_beats_as_played_count_before_the_grid() -> None:
    """A player who is late throughout does not swing more for it."""
    times = [1 + (i + off) * BEAT_S + 0.03 for i in range(12) for off in (0.0, 2 / 3)]
    assert swing_ratio(find_attacks(_notes(times)), _grid(14)) == pytest.approx(2.0, abs=0.05)


def test_human_timing_moves_the_median_little() -> None:
    """With 8 ms of jitter the ratio of 2 stays within a tenth or so."""
    rng = np.random.default_rng(5)
    times = [
        1 + (i + off) * BEAT_S + rng.normal(0, 0.008) for i in range(60) for off in (0.0, 2 / 3)
    ]
    assert swing_ratio(find_attacks(_notes(sorted(times))), _grid(61)) == pytest.approx(
        2.0, abs=0.15
    )


def test_too_few_divided_beats_give_none() -> None:
    """Four off-beats, quarters alone, a beat in four parts, or no grid: nothing is claimed."""
    quarters = [1 + i * BEAT_S for i in range(12)]
    few = sorted([*quarters, *(1 + (i + 2 / 3) * BEAT_S for i in range(4))])
    sixteenths = [1 + i * BEAT_S / 4 for i in range(48)]
    for times in (quarters, few, sixteenths):
        assert swing_ratio(find_attacks(_notes(times)), _grid(13)) is None
    assert swing_ratio(find_attacks(_notes(quarters)), BeatGrid()) is None
