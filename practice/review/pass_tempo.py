"""The tempo of a pass: from the beats of the take where these are known, else from its chords.

The lengths that a target writes say how long chords are meant to last, not how they were played:
who strikes a chord every two beats where the target has four plays no double tempo. So where the
player said what the beats are, or a MIDI file has them, the beats under the pass count. Beats that
were found in the chords themselves keep their rate, but chords struck once a bar do not say
whether bars or beats are heard; there the target's lengths choose among half, once, twice and four
times that rate (made practice takes: of passes 96 in 100 within 3 % so, 34 by the found beats).
"""

import math

from stackline.practice.finding.pass_records import Pass
from stackline.practice.review.hesitation import tempo_bpm
from stackline.practice.targets.targets import Target
from stackline.shared.notes import BeatGrid

FEWEST = 3  # beats under a pass that say how fast it is; of fewer the take's own tempo is told
FEWEST = 3  # beats under a pass that say how fast it is; of fewer the take's own tempo is told
RATES = (0.5, 1.0, 2.0, 4.0)  # times as fast as written


def pass_tempo(row: Pass, target: Target, grid: BeatGrid) -> float | None:
    """Beats a minute of a pass; None for a single chord in a take without beats."""
    written = tempo_bpm(row, target)
    by_beats = None if grid.is_uncertain else _by_beats(row, grid)
    if by_beats is None or grid.source == "hint":
        return by_beats or written
    if written is None:
        return None
    return min((by_beats * one for one in RATES), key=lambda bpm: abs(math.log(bpm / written)))


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
