"""The player's own pulse, and where the hands waited longer than it asks.

A pulse is seconds a beat: of each change, the time from chord to chord over the beats that the
target gives it. A pass's pulse at one change is the median of its other changes, but no faster
than the take's usual pulse (waits only ever slow a change down, so that is a lower quartile). A
pass of two chords has the take's usual pulse alone.

Comping strikes chords before and after their beats (anticipations, rests on the one), and that
is no waiting: a wait is a hesitation when it is longer than the pulse asks by `LATE_BEATS`, by
`LATE_S`, and by `LOOSE` times what the take's changes are off, which is at most `SURELY_BEATS`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from stackline.practice.finding.pass_records import Arrival, Pass
from stackline.practice.review.review_records import Wait
from stackline.practice.targets.targets import Target

LATE_BEATS = 0.75
LATE_S = 0.35
LOOSE = 1.6
ENOUGH = 8  # changes of a take to say how loose it is; with fewer,
COMPED = 1.2  # beats where a third of the chords are struck more than once, else none
SURELY_BEATS = 2.4  # nobody comps so late


@dataclass(frozen=True, kw_only=True)
class Timing:
    """How a take's passes go. usual_s: seconds a beat, None where there is nothing to go by.

    loose_beats: three of four changes are no further from their pulse.
    """

    usual_s: float | None
    loose_beats: float


@dataclass(frozen=True, kw_only=True)
class _Change:
    """From an arrival to the next. beats: what the target asks for it."""

    first: Arrival
    second: Arrival
    beats: float

    @property
    def put_right_s(self) -> float | None:
        """When the first chord was last struck with other keys: it was corrected, not waited on."""
        main = set(self.first.main.struck)
        others = [
            one.onset_s for one in self.first.later
            if 2 * len(one.struck) > len(main) and not main <= set(one.struck)
            and not set(one.struck) <= main
        ]  # fmt: skip
        return others[-1] if others else None

    @property
    def seconds(self) -> float:
        return self.second.main.onset_s - (self.put_right_s or self.first.main.onset_s)

    @property
    def comped(self) -> bool:
        """Whether the first chord was struck more than once."""
        return any(2 * len(one.struck) > len(self.first.main.struck) for one in self.first.later)

    @property
    def pulse_s(self) -> float:
        return self.seconds / self.beats


def timing(rows: Sequence[Pass], target: Target) -> Timing:
    """The usual pulse of a take's whole passes, and how loosely they keep it."""
    each = [_changes(row, target) for row in rows]
    pulses = sorted(one.pulse_s for row in each for one in row if one.put_right_s is None)
    usual = pulses[len(pulses) // 4] if len(pulses) > 1 else None
    off = sorted(
        abs(one.seconds / pulse - one.beats)
        for row in each
        for i, one in enumerate(row)
        if (pulse := _pulse(row, i, usual))
    )
    if len(off) >= ENOUGH:
        return Timing(usual_s=usual, loose_beats=off[3 * len(off) // 4])
    comped = sum(one.comped for row in each for one in row)
    return Timing(usual_s=usual, loose_beats=COMPED if 3 * comped >= max(1, len(off)) else 0.0)


def tempo_bpm(row: Pass, target: Target) -> float | None:
    """Beats a minute over a whole pass, its longest wait left out; None for a single chord."""
    pulses = sorted(one.pulse_s for one in _changes(row, target))
    if len(pulses) > 2:
        pulses.pop()
    return 60.0 / median(pulses) if pulses else None


def waits(row: Pass, target: Target, take: Timing) -> tuple[Wait, ...]:
    """How long each chord took to reach the next, in beats of the pulse."""
    changes = _changes(row, target)
    return tuple(
        _wait(one, pulse, take)
        for i, one in enumerate(changes)
        if (pulse := _pulse(changes, i, take.usual_s))
    )


def _changes(row: Pass, target: Target) -> list[_Change]:
    return [
        _Change(first=a, second=b, beats=float(sum(target.beats[a.chord : b.chord])))
        for a, b in pairwise(row.arrivals)
    ]


def _pulse(changes: Sequence[_Change], at: int, usual_s: float | None) -> float | None:
    """Seconds a beat at one change, from the others and the take."""
    own = [one.pulse_s for i, one in enumerate(changes) if i != at and one.put_right_s is None]
    if not own:
        return usual_s
    return max(median(own), usual_s or 0.0)


def _wait(change: _Change, pulse_s: float, take: Timing) -> Wait:
    beats = change.seconds / pulse_s
    over = beats - change.beats
    allowed = min(max(LATE_BEATS, LOOSE * take.loose_beats), SURELY_BEATS)
    return Wait(
        chord=change.second.chord - 1,
        seconds=change.seconds,
        beats=beats,
        meant_beats=change.beats,
        hesitated=over >= allowed and over * pulse_s >= LATE_S,
    )
