"""How far a take swings: long to short of its divided beats.

The beat-upbeat ratio (named so by F. Benadon, Ethnomusicology 50, 2006; memory): time from a
beat to its off-beat, over time from there to the next beat; 1 is straight, 2 is the last
third of a triplet. A beat counts if one attack lies inside it, about the middle. Beats are
where the player struck them, else where the grid has them. The ratio of a take is the median.
"""

from collections.abc import Sequence

import numpy as np

from stackline.shared.notes import Attack, BeatGrid

FEWEST = 5  # divided beats; fewer say nothing
EARLIEST, LATEST = 0.42, 0.80  # an off-beat's part of the beat: ratios 0.7 to 4
ON_BEAT = 0.12  # of a beat: an attack so near to a beat is that beat as played


def swing_ratio(attacks: Sequence[Attack], grid: BeatGrid) -> float | None:
    """The ratio, to two places; None without a grid or with too few divided beats."""
    if len(grid.beats) < 2 or not attacks:
        return None
    beats = np.array([beat.time_s for beat in grid.beats])
    onsets = np.array([attack.onset_s for attack in attacks])
    place = np.interp(onsets, beats, np.arange(len(beats)), left=-1.0, right=-1.0)
    played = beats.copy()
    for onset_s, at in zip(onsets, place, strict=True):
        if at >= 0 and abs(at - round(at)) <= ON_BEAT:
            played[round(at)] = onset_s
    ratios = []
    for index in range(len(beats) - 1):
        inside = onsets[(place > index + ON_BEAT) & (place < index + 1 - ON_BEAT)]
        length_s = played[index + 1] - played[index]
        if len(inside) == 1 and length_s > 0 and not grid.is_taken_up(index + 1):
            part = float(inside[0] - played[index]) / length_s
            if EARLIEST <= part <= LATEST:
                ratios.append(part / (1.0 - part))
    return round(float(np.median(ratios)), 2) if len(ratios) >= FEWEST else None
