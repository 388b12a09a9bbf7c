"""The player's own pulse, and where the hands waited longer than it asks.

A pulse is seconds a beat: of each change, the time from chord to chord over the beats that the
target gives it. A pass's pulse at one change is the median of its other changes where that is
slower than the take's by more than the take is loose; else it is the take's: the median of its
passes, each from first chord to last, or, of a few changes, their lower quartile (waits only ever
slow a change down).

Comping strikes chords before and after their beats (anticipations, rests on the one), and that
is no waiting: what a neighbour is shorter by was struck early or late, and the beat went on. What
is left is a hesitation when it is longer than the pulse asks by `LATE_BEATS`, by `LATE_S`, and by
`LOOSE` times what `MOST` of the take's changes are off at most (`SURELY_BEATS` at most).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from stackline.practice.finding.pass_records import Arrival, Pass
from stackline.practice.review.review_records import Wait
from stackline.practice.targets.targets import Target

LATE_BEATS = 0.75
LATE_S = 0.35
LOOSELY = 0.3  # beats; a take whose changes are as far off is comped:
MOST = 0.6  # of a take's changes, rising by how far they are off
ENOUGH = 8  # changes of a take to say how loose it is; with fewer,
LOOSE = 0.8  # times as far, and at the least
COMPED = 1.2  # beats; also where a third of the chords are struck more than once, else none
SURELY_BEATS = 2.4  # nobody comps so late


@dataclass(frozen=True, kw_only=True)
class Timing:
    """How a take's passes go. usual_s: seconds a beat, None where there is nothing to go by.

    loose_beats: `MOST` of the changes are no further from their pulse.
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

    def over(self, pulse_s: float) -> float:
        """Beats by which it is longer than the target asks, at a pulse."""
        return self.seconds / pulse_s - self.beats

    @property
    def pulse_s(self) -> float:
        return self.seconds / self.beats


def timing(rows: Sequence[Pass], target: Target) -> Timing:
    """The usual pulse of a take's whole passes, and how loosely they keep it."""
    each = [_changes(row, target) for row in rows]
    pulses = sorted(one.pulse_s for row in each for one in row if one.put_right_s is None)
    if not pulses:
        return Timing(usual_s=None, loose_beats=0.0)
    quick = pulses[len(pulses) // 4] if len(pulses) > 1 else None
    off = _off(each, Timing(usual_s=quick, loose_beats=0.0))
    comped = 3 * sum(one.comped for row in each for one in row) >= max(1, len(off))
    if len(off) < ENOUGH:
        return Timing(usual_s=quick, loose_beats=COMPED if comped else 0.0)
    whole = median(_whole_pulse(row) for row in each if row)
    first = Timing(usual_s=whole, loose_beats=_most(off))
    return replace(first, loose_beats=_most(_off(each, first)))


def _whole_pulse(changes: Sequence[_Change]) -> float:
    """Seconds a beat from a pass's first chord to its last: what is early inside is made up for."""
    return sum(one.seconds for one in changes) / sum(one.beats for one in changes)


def _off(each: Sequence[Sequence[_Change]], take: Timing) -> list[float]:
    """How far each change is from the pulse, in beats, rising."""
    return sorted(
        abs(one.over(pulse))
        for row in each
        for i, one in enumerate(row)
        if (pulse := _pulse(row, i, take))
    )


def _most(off: Sequence[float]) -> float:
    return off[int(MOST * len(off))]


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
        _wait(one, pulse, take, changes[max(0, i - 1) : i] + changes[i + 1 : i + 2])
        for i, one in enumerate(changes)
        if (pulse := _pulse(changes, i, take))
    )


def _changes(row: Pass, target: Target) -> list[_Change]:
    return [
        _Change(first=a, second=b, beats=float(sum(target.beats[a.chord : b.chord])))
        for a, b in pairwise(row.arrivals)
    ]


def _pulse(changes: Sequence[_Change], at: int, take: Timing) -> float | None:
    """Seconds a beat at one change, from the others and the take.

    A pass's own pulse counts where it differs from the take's by more than its changes are loose:
    of two or three comped chords nobody can say how fast they are.
    """
    usual = take.usual_s
    others = [one for i, one in enumerate(changes) if i != at and one.put_right_s is None]
    if not others:
        return usual
    own = median(one.pulse_s for one in others)
    if usual is None:
        return own
    apart = (own / usual - 1) * median(one.beats for one in others)
    return usual if apart <= take.loose_beats else own


def _wait(change: _Change, pulse_s: float, take: Timing, neighbours: Sequence[_Change]) -> Wait:
    """neighbours: the changes before and after.

    What a neighbour is shorter by was no waiting: one chord was struck early, or the other late.
    """
    over = change.over(pulse_s) + sum(min(0.0, one.over(pulse_s)) for one in neighbours)
    allowed = LATE_BEATS if take.loose_beats < LOOSELY else max(COMPED, LOOSE * take.loose_beats)
    return Wait(
        chord=change.second.chord - 1,
        seconds=change.seconds,
        beats=change.seconds / pulse_s,
        meant_beats=change.beats,
        hesitated=over >= min(allowed, SURELY_BEATS) and over * pulse_s >= LATE_S,
    )
