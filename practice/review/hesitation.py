"""The player's own pulse in a pass, and how long the way from V to I took against it.

Seconds a beat are taken from the pass itself: the median over all changes but the V-I, each
divided by the beats that the target gives it. A target that is only a V-I has nothing else
to go by; there the median over the take's other passes is the pulse.
"""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from stackline.practice.finding.passes import Arrival, Pass
from stackline.practice.review.landings import is_cadence
from stackline.practice.review.review_records import Wait
from stackline.practice.targets.targets import Target

LATE_BEATS = 0.75  # beyond what the target asks, and
LATE_S = 0.35  # at least this many seconds: a hesitation


def spans_per_beat(row: Pass, target: Target, *, cadences: bool) -> list[float]:
    """Seconds a beat of each change of a pass; with or without those from V to I."""
    found = []
    for a, b in pairwise(row.arrivals):
        at_cadence = b.chord == a.chord + 1 and _cadence(target, a.chord)
        if at_cadence == cadences:
            beats = float(sum(target.beats[a.chord : b.chord]))
            found.append((b.main.onset_s - a.main.onset_s) / beats)
    return found


def _cadence(target: Target, chord: int) -> bool:
    return is_cadence(target.chords[chord], target.chords[chord + 1])


def common_pulse(rows: Sequence[Pass], target: Target) -> float | None:
    """Median seconds a beat over several passes, for targets that are only a V-I."""
    spans = [one for row in rows for one in spans_per_beat(row, target, cadences=True)]
    return median(spans) if len(spans) > 1 else None


def beat_s(row: Pass, target: Target, common: float | None) -> float | None:
    """Seconds a beat in this pass; None for a single chord with nothing to compare."""
    own = spans_per_beat(row, target, cadences=False)
    return median(own) if own else common


def tempo_bpm(row: Pass, target: Target) -> float | None:
    """Beats a minute over a whole pass; None for a single chord."""
    spans = spans_per_beat(row, target, cadences=False) or spans_per_beat(
        row, target, cadences=True
    )
    return 60.0 / median(spans) if spans else None


def waits(row: Pass, target: Target, pulse_s: float | None) -> tuple[Wait, ...]:
    """How long each V took to reach its I, in beats of the pulse."""
    if not pulse_s:
        return ()
    return tuple(
        _wait(a, b, target, pulse_s)
        for a, b in pairwise(row.arrivals)
        if b.chord == a.chord + 1 and _cadence(target, a.chord)
    )


def _wait(first: Arrival, second: Arrival, target: Target, pulse_s: float) -> Wait:
    seconds = second.main.onset_s - first.main.onset_s
    meant = float(target.beats[first.chord])
    over = seconds / pulse_s - meant
    return Wait(
        chord=first.chord,
        seconds=seconds,
        beats=seconds / pulse_s,
        meant_beats=meant,
        hesitated=over >= LATE_BEATS and over * pulse_s >= LATE_S,
    )
