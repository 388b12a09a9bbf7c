"""The tempo of a pass, from the beats of the take.

The bars of the target say how long its chords are meant to last, not how fast they were played:
who strikes a chord every two beats where the target has four plays no double tempo. So the beats
count that lie under the pass. Where a take has none that are sure, or the pass is out of time, the
target's lengths are all there is (`hesitation.tempo_bpm`).
"""

from stackline.practice.finding.pass_records import Pass
from stackline.practice.review.hesitation import tempo_bpm
from stackline.practice.targets.targets import Target
from stackline.shared.notes import BeatGrid

FEWEST = 3  # beats under a pass that say how fast it is; of fewer the take's own tempo is told


def pass_tempo(row: Pass, target: Target, grid: BeatGrid) -> float | None:
    """Beats a minute of a pass; None for a single chord in a take without beats."""
    by_beats = None if grid.is_uncertain else _by_beats(row, grid)
    return tempo_bpm(row, target) if by_beats is None else by_beats


def _by_beats(row: Pass, grid: BeatGrid) -> float | None:
    last_s = row.arrivals[-1].main.onset_s
    if not grid.tempo_bpm or grid.is_left_between(row.start_s, last_s):
        return None
    beat_s = 60.0 / grid.tempo_bpm
    times = [beat.time_s for beat in grid.beats
             if row.start_s - beat_s / 2 <= beat.time_s <= last_s + beat_s / 2]  # fmt: skip
    if len(times) < FEWEST:
        return grid.tempo_bpm
    return 60.0 * (len(times) - 1) / (times[-1] - times[0])
