"""Where attacks and endings stand on paper, in beats from the first bar written.

With a beat grid an attack stands at its position, and bars are those of the grid from the
first to the last that holds music. Two attacks never share a place: one that was heard at
the place of the one before moves on by a quarter of a beat (a third beside thirds). Without
a grid every attack is a slot one beat long.

In a take that swings (`shared.swing`) late off-beats are written as straight eighths, with
the word; a beat with a true triplet in it stays one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from shared.notes import Attack, BeatGrid
from shared.swing import LATE, STRAIGHT, is_swung, late_beats
from shared.take import Take


@dataclass(frozen=True, kw_only=True)
class BarSpan:
    """One bar to write: its number, beats of the meter, beats missing at the front, start."""

    number: int
    beats: int
    missing: int
    start: int

    @property
    def end(self) -> int:
        return self.start + self.beats - self.missing


@dataclass(frozen=True, kw_only=True)
class ScoreTime:
    """The paper's time line.

    starts: of each attack of the take, rising, in beats from the first bar. bars: without
    gaps, as far as the last attack (`bars_until` goes on). swung: see the module's text.
    """

    barred: bool
    swung: bool
    starts: tuple[Fraction, ...]
    bars: tuple[BarSpan, ...]
    times_s: tuple[float, ...]
    places: tuple[float, ...]
    late_beats: frozenset[int]

    def at(self, times_s: Sequence[float]) -> list[float]:
        """Places of times in seconds, between and beyond the beats; swing written straight."""
        t, p = np.array(self.times_s), np.array(self.places)
        x = np.asarray(times_s, dtype=float)
        found = np.interp(x, t, p)
        found = np.where(x < t[0], p[0] + (x - t[0]) * (p[1] - p[0]) / (t[1] - t[0]), found)
        found = np.where(x > t[-1], p[-1] + (x - t[-1]) * (p[-1] - p[-2]) / (t[-1] - t[-2]), found)
        return [self._straight(float(one)) for one in found]

    def bars_until(self, end: Fraction) -> tuple[BarSpan, ...]:
        """The bars, with more of the last meter behind them until `end` is inside."""
        bars = list(self.bars)
        while bars[-1].end < end:
            last = bars[-1]
            bars.append(
                BarSpan(number=last.number + 1, beats=last.beats, missing=0, start=last.end)
            )
        return tuple(bars)

    def _straight(self, place: float) -> float:
        beat = int(place // 1)
        if beat not in self.late_beats:
            return place
        part = place - beat
        late = float(LATE)
        return beat + (part * 0.75 if part < late else 0.5 + (part - late) * 1.5)


def score_time(take: Take) -> ScoreTime:
    """The time line of a take that has attacks."""
    if len(take.grid.beats) < 2 or any(attack.position is None for attack in take.attacks):
        return _slots(take.attacks)
    bars = _bars(take)
    starts_of = {bar.number: bar.start - bar.missing for bar in bars}
    heard = [
        starts_of[attack.position.bar] + attack.position.beat - 1
        for attack in take.attacks
        if attack.position is not None
    ]
    swung = is_swung(take.attacks)
    starts = _rising(_straightened(heard) if swung else heard)
    places = [
        float(starts_of.get(number, _beyond(bars, number)) + beat.number - 1)
        for beat, number in zip(take.grid.beats, take.grid.bars(), strict=True)
    ]
    times_s, places = _strictly_rising([beat.time_s for beat in take.grid.beats], places)
    return ScoreTime(
        barred=True, swung=swung, starts=tuple(starts), bars=bars, times_s=tuple(times_s),
        places=tuple(places), late_beats=_late_beats(heard) if swung else frozenset(),
    )  # fmt: skip


def _slots(attacks: Sequence[Attack]) -> ScoreTime:
    """One beat an attack; time runs evenly inside a slot."""
    count = len(attacks)
    onsets = [attack.onset_s for attack in attacks]
    onsets.append(max(max(attack.offset_s for attack in attacks), onsets[-1] + 1e-3))
    times_s, places = _strictly_rising(onsets, [float(i) for i in range(count + 1)])
    return ScoreTime(
        barred=False, swung=False, starts=tuple(Fraction(i) for i in range(count)),
        bars=tuple(BarSpan(number=i + 1, beats=1, missing=0, start=i) for i in range(count)),
        times_s=tuple(times_s), places=tuple(places), late_beats=frozenset(),
    )  # fmt: skip


def _strictly_rising(times: list[float], places: list[float]) -> tuple[list[float], list[float]]:
    """Pairs that rise in both; those that do not are left out."""
    kept = [(times[0], places[0])]
    for time_s, place in zip(times[1:], places[1:], strict=True):
        if time_s > kept[-1][0] and place > kept[-1][1]:
            kept.append((time_s, place))
    if len(kept) < 2:
        kept.append((kept[0][0] + 1.0, kept[0][1] + 1.0))
    return [one[0] for one in kept], [one[1] for one in kept]


def _bars(take: Take) -> tuple[BarSpan, ...]:
    """Bars from the first to the last attack; the first is cut to a pickup if it is bar 0."""
    places = [attack.position for attack in take.attacks if attack.position is not None]
    first, last = min(place.bar for place in places), max(place.bar for place in places)
    longest = _beats_by_bar(take.grid)
    for place in places:
        least = longest.get(place.bar, take.grid.beats_per_bar)
        longest[place.bar] = max(least, int(place.beat))
    opening = min(int(place.beat) for place in places if place.bar == first) - 1
    bars: list[BarSpan] = []
    for number in range(first, last + 1):
        beats = longest.get(number, take.grid.beats_per_bar)
        missing = opening if number == first and first <= 0 else 0
        start = bars[-1].end if bars else 0
        bars.append(BarSpan(number=number, beats=beats, missing=missing, start=start))
    return tuple(bars)


def _beats_by_bar(grid: BeatGrid) -> dict[int, int]:
    """Beats of each bar of the grid, never fewer than the meter's."""
    found: dict[int, int] = {}
    for beat, number in zip(grid.beats, grid.bars(), strict=True):
        found[number] = max(found.get(number, grid.beats_per_bar), beat.number)
    return found


def _beyond(bars: Sequence[BarSpan], number: int) -> int:
    """Where a bar before the first or after the last one written would begin."""
    if number > bars[-1].number:
        return bars[-1].end + (number - bars[-1].number - 1) * bars[-1].beats
    return bars[0].start - bars[0].missing - (bars[0].number - number) * bars[0].beats


def _late_beats(places: Sequence[Fraction]) -> frozenset[int]:
    return late_beats((int(place // 1), place % 1) for place in places)


def _straightened(places: Sequence[Fraction]) -> list[Fraction]:
    late = _late_beats(places)
    return [
        place // 1 + STRAIGHT if place % 1 == LATE and int(place // 1) in late else place
        for place in places
    ]


def _rising(places: Sequence[Fraction]) -> list[Fraction]:
    """Places in order, each later than the one before."""
    found = [places[0]]
    for place in places[1:]:
        step = Fraction(1, 3 if found[-1].denominator % 3 == 0 else 4)
        found.append(place if place > found[-1] else found[-1] + step)
    return found
