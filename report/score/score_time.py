"""Where attacks and endings stand on paper, in beats from the first bar written.

With a beat grid an attack stands at its position, and bars are those of the grid from the
first to the last that holds music. Two attacks never share a place: one that was heard at
the place of the one before moves on by a quarter of a beat (a third beside thirds). Without
a grid every attack is a slot one beat long.

A passage out of time stands between the bars as slots too (`score_sections`): bars are
then written as far as the grid has them on that side, and one that the passage breaks off, or
after which the beat is taken up inside a bar, is so much shorter.

Late off-beats are written as straight eighths (`stackline.shared.swing`), with the word where the
take swings; a beat with a true triplet in it stays one.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from stackline.report.score.score_sections import Section, sections
from stackline.shared.notes import Position
from stackline.shared.swing import LATE, STRAIGHT, is_swung, late_beats, positions
from stackline.shared.take import Take


@dataclass(frozen=True, kw_only=True)
class BarSpan:
    """One bar to write: its number (a slot's counts its passage), beats of the meter, start.

    missing, cut: beats that it lacks at the front and at the end. slot_s: when the attack was
    struck whose slot this is, in seconds; None for a bar. opens: whether it begins a passage
    out of time, or the bars after one.
    """

    number: int
    beats: int
    missing: int
    start: int
    cut: int = 0
    slot_s: float | None = None
    opens: bool = False

    @property
    def end(self) -> int:
        return self.start + self.beats - self.missing - self.cut


@dataclass(frozen=True, kw_only=True)
class ScoreTime:
    """The paper's time line.

    starts: of each attack of the take, rising, in beats from the first bar. bars: without
    gaps, as far as the last attack (`bars_until` goes on). barred: whether any is a bar. swung:
    see the module's text. times_s, places: beats and slots, rising in both. borders: where
    bars and passages out of time meet.
    """

    barred: bool
    swung: bool
    starts: tuple[Fraction, ...]
    bars: tuple[BarSpan, ...]
    times_s: tuple[float, ...]
    places: tuple[float, ...]
    late_beats: frozenset[int]
    borders: tuple[int, ...] = ()

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
            bars.append(_following(bars[-1]))
        return tuple(bars)

    def is_slot(self, place: Fraction) -> bool:
        """Whether a place is the slot of an attack and in no bar."""
        return bar_at(place, self.bars).slot_s is not None

    def border_after(self, place: Fraction) -> Fraction | None:
        """The next place where bars and a passage out of time meet; None if there is none."""
        at = bisect_right(self.borders, place)
        return Fraction(self.borders[at]) if at < len(self.borders) else None

    def _straight(self, place: float) -> float:
        beat = int(place // 1)
        if beat not in self.late_beats:
            return place
        part = place - beat
        late = float(LATE)
        return beat + (part * 0.75 if part < late else 0.5 + (part - late) * 1.5)


def bar_at(place: Fraction, bars: Sequence[BarSpan]) -> BarSpan:
    """The bar that holds a place."""
    whole = place.numerator // place.denominator  # bars begin on whole beats
    return bars[max(bisect_right(bars, whole, key=lambda bar: bar.start) - 1, 0)]


def score_time(take: Take) -> ScoreTime:
    """The time line of a take that has attacks."""
    found = sections(take)
    if not any(section.in_time for section in found):
        found = (Section(in_time=False, attacks=take.attacks),)
    line = _Line(take)
    for number, section in enumerate(found):
        follows, goes_on = number > 0, number + 1 < len(found)
        if section.in_time:
            line.add_bars(section, follows=follows, goes_on=goes_on)
        else:
            line.add_slots(section)
    return line.made()


class _Line:
    """The time line while it is written, section after section."""

    def __init__(self, take: Take) -> None:
        self._take = take
        self._swung = is_swung(take.attacks)
        self._bars: list[BarSpan] = []
        self._starts: list[Fraction] = []
        self._times_s: list[float] = []
        self._places: list[float] = []
        self._late: frozenset[int] = frozenset()
        self._borders: list[int] = []

    def made(self) -> ScoreTime:
        """The time line of all that was added."""
        barred = any(bar.slot_s is None for bar in self._bars)
        if self._bars[-1].slot_s is not None:
            last = max(attack.offset_s for attack in self._take.attacks)
            self._times_s.append(max(last, self._times_s[-1] + 1e-3))
            self._places.append(float(self._bars[-1].end))
        times_s, places = _strictly_rising(self._times_s, self._places)
        return ScoreTime(
            barred=barred, swung=barred and self._swung, starts=tuple(self._starts),
            bars=tuple(self._bars), times_s=tuple(times_s), places=tuple(places),
            late_beats=self._late, borders=tuple(self._borders),
        )  # fmt: skip

    def add_slots(self, section: Section) -> None:
        """A slot for each attack; one for a passage without any. Time runs evenly in a slot."""
        start = self._begin()
        times_s = [attack.onset_s for attack in section.attacks] or [section.start_s]
        for i, time_s in enumerate(times_s):
            self._bars.append(
                BarSpan(
                    number=i + 1, beats=1, missing=0, start=start + i, slot_s=time_s,
                    opens=not i,
                )
            )  # fmt: skip
        self._starts += [Fraction(start + i) for i in range(len(section.attacks))]
        self._times_s += times_s
        self._places += [float(bar.start) for bar in self._bars[-len(times_s) :]]

    def add_bars(self, section: Section, *, follows: bool, goes_on: bool) -> None:
        """The bars of a section; follows, goes_on: whether a passage stands before, and after."""
        start = self._begin()
        per_bar = self._take.grid.beats_per_bar
        bars = _bars(per_bar, section, start, follows=follows, goes_on=goes_on)
        starts_of = {bar.number: bar.start - bar.missing for bar in bars}
        placed = positions(section.attacks)
        heard = [starts_of[one.bar] + one.beat - 1 for one in placed]
        self._late |= _late_beats(heard)
        starts = _rising(_straightened(heard))
        while goes_on and starts and bars[-1].end <= starts[-1]:
            bars.append(_following(bars[-1]))
        self._bars += bars
        self._starts += starts
        for beat, number in section.beats:
            self._times_s.append(beat.time_s)
            self._places.append(
                float(starts_of.get(number, _beyond(bars, number)) + beat.number - 1)
            )

    def _begin(self) -> int:
        """Where the next section begins, kept as a border."""
        if not self._bars:
            return 0
        self._borders.append(self._bars[-1].end)
        return self._bars[-1].end


def _following(bar: BarSpan) -> BarSpan:
    """One more bar, of the same meter."""
    return BarSpan(number=bar.number + 1, beats=bar.beats, missing=0, start=bar.end)


def _strictly_rising(times: list[float], places: list[float]) -> tuple[list[float], list[float]]:
    """Pairs that rise in both; those that do not are left out."""
    kept = [(times[0], places[0])]
    for time_s, place in zip(times[1:], places[1:], strict=True):
        if time_s > kept[-1][0] and place > kept[-1][1]:
            kept.append((time_s, place))
    if len(kept) < 2:
        kept.append((kept[0][0] + 1.0, kept[0][1] + 1.0))
    return [one[0] for one in kept], [one[1] for one in kept]


def _bars(
    per_bar: int, section: Section, start: int, *, follows: bool, goes_on: bool
) -> list[BarSpan]:
    """The bars of a section from the first to the last attack, and on that side where a passage
    out of time stands as far as there are beats; the first is cut to a pickup if it is bar 0.
    """
    beats = [Position(bar=number, beat=Fraction(beat.number)) for beat, number in section.beats]
    placed = positions(section.attacks)
    longest = _longest(placed + beats, per_bar)
    first = min(one.bar for one in (placed + beats if follows else placed))
    last = max(one.bar for one in (placed + beats if goes_on else placed))
    opening = _of_bar(placed + (beats if follows else []), first)
    closing = _of_bar(placed + beats, last)
    bars: list[BarSpan] = []
    for number in range(first, last + 1):
        whole = longest.get(number, per_bar)
        cut_front = number == first and (first <= 0 or follows)
        bar = BarSpan(
            number=number,
            beats=whole,
            missing=min(opening) - 1 if cut_front else 0,
            start=bars[-1].end if bars else start,
            cut=whole - max(closing) if number == last and goes_on else 0,
            opens=number == first,
        )
        bars.append(bar)
    return bars


def _longest(places: Sequence[Position], least: int) -> dict[int, int]:
    """Beats of each bar that holds one of the places, never fewer than the meter's."""
    found: dict[int, int] = {}
    for one in places:
        found[one.bar] = max(found.get(one.bar, least), int(one.beat))
    return found


def _of_bar(places: Sequence[Position], number: int) -> list[int]:
    """The beats of one bar that are among some places."""
    return [int(one.beat) for one in places if one.bar == number]


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
    found = list(places[:1])
    for place in places[1:]:
        step = Fraction(1, 3 if found[-1].denominator % 3 == 0 else 4)
        found.append(place if place > found[-1] else found[-1] + step)
    return found
