"""The beats of a take with regular clicks in it: a metronome in the room, sticks, a hi-hat.

The tempo, window by window, is that of `pulse` over attacks and clicks together; beats
are the path of `beat_path` at that tempo, its double, its half, and in three against two;
bars of four and of three are laid over each (`bars`), and what explains the take best is
taken. Beats are believed when the attacks are clearly likelier on them than anywhere.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.other_sounds.clicks import Clicks
from stackline.listen.time.bar_places import places_on, strikes_of
from stackline.listen.time.count_in import CountIn
from stackline.listen.time.strokes import BINS, Strokes, of_attacks, of_clicks
from stackline.listen.time.told import Told
from stackline.listen.time.usual_tempi import (
    FASTEST_BPM,
    SAME_TEMPO,
    SLOWEST_BPM,
    USUAL_METERS,
    doubt,
    log_prior,
)
from stackline.listen.time.with_clicks.bars import Layout, is_sure, lay_bars
from stackline.listen.time.with_clicks.beat_path import (
    ENDING,
    FREE,
    STIFF,
    Anchors,
    Bend,
    beat_times,
)
from stackline.listen.time.with_clicks.pulse import TempoPath, regular, tempo_path
from stackline.shared.notes import Attack, Beat, BeatGrid

_CLICK_WEIGHT = 2.0  # of a regular click against an attack: it leads
_FACTORS = (1.0, 2.0, 0.5, 1.5, 2 / 3)  # tempi that a tempo can be mistaken for
_BENDS = ((FREE, 0.05), (STIFF, 0.0))  # and what bending costs, for each attack
_LAST_BEATS = 12
_CLICKS_BETWEEN = 1.2  # clicks for each attack, where they stand between attacks
_COUNT_SPREAD, _ONE_SPREAD, _HELD_SPREAD = 0.03, 0.10, 0.12  # of known beats, in beats
# Log-likelihoods of n attacks, less what attacks at random reach on a path that may bend (this
# much for each), over the root of n. In bars: attacks at random are left with 0.3 to 2.3, made
# comping with 3.5 and more, where the tempo drifts and slows 2.7 and more. In the beats of a
# stiff path, whatever the bars: at random -3.3 to -0.2, comping 0.9 and more.
_BY_CHANCE = 0.36
_IN_BARS, _IN_BEATS = (2.3, 3.2), (0.3, 1.8)  # from no pulse to a sure one


@dataclass(frozen=True, kw_only=True, eq=False)
class Leading:
    """The regular clicks of a take. are_many: they stand between attacks, and not only one
    after each (a damper, a pedal).
    """

    strokes: Strokes
    are_many: bool

    @property
    def are_any(self) -> bool:
        """Whether there are such clicks."""
        return bool(len(self.strokes.time_s))


def led_by(clicks: Clicks, attacks: Sequence[Attack]) -> Leading:
    """The clicks that lead. clicks: those apart from what is struck."""
    strokes = of_clicks(clicks, _CLICK_WEIGHT * regular(clicks) * clicks.strength)
    many = len(strokes.time_s) > _CLICKS_BETWEEN * len(attacks)
    return Leading(strokes=strokes, are_many=many)


def clicked_beats(
    attacks: Sequence[Attack], leading: Leading, told: Told, count: CountIn | None = None
) -> BeatGrid | None:
    """The grid of a take of an attack or more; None without a steady pulse."""
    heard = _Heard(
        attacks=attacks, told=told, count=count, strokes=(of_attacks(attacks), leading.strokes)
    )
    readings = sorted(heard.readings(), key=lambda one: one.score, reverse=True)
    best = heard.settled(readings[0])
    confidence = heard.confidence(best, readings)
    return _grid(best, heard, confidence) if confidence > 0.0 else None


@dataclass(frozen=True, kw_only=True, eq=False)
class Reading:
    """One way to count a take. score: of its layout and of what is usual."""

    layout: Layout
    score: float
    bend: Bend

    def is_of_tempo(self, other: "Reading") -> bool:
        """Whether both beat at the same rate."""
        mine, its = (np.median(np.diff(one.layout.beats_s)) for one in (self, other))
        return bool(abs(np.log(mine / its)) < SAME_TEMPO)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Heard:
    """All that bears on the beats of one take."""

    attacks: Sequence[Attack]
    told: Told
    count: CountIn | None
    strokes: tuple[Strokes, ...]  # attacks first, then regular clicks

    @property
    def ones_s(self) -> tuple[float, ...]:
        """Downbeats that were told or counted."""
        return () if self.told.one_s is None else (self.told.one_s,)

    def anchors(self) -> list[Anchors]:
        """Beats that were told or counted."""
        found = [Anchors(time_s=np.array(self.ones_s), spread=_ONE_SPREAD)] if self.ones_s else []
        if self.count:
            found.append(Anchors(time_s=self.count.clicks_s, spread=_COUNT_SPREAD))
        return found

    def readings(self) -> list[Reading]:
        """Every reading, tempo by tempo and meter by meter."""
        path = tempo_path(self.strokes, given_bpm=self.told.bpm)
        told = self.told.meter
        meters = (told,) if told else USUAL_METERS
        strikes, found = strikes_of(self.attacks), []
        for factor in (1.0,) if self.told.bpm else _FACTORS:
            tried = TempoPath(time_s=path.time_s, bpm=path.bpm * factor)
            bpm = float(np.median(tried.bpm))
            if factor != 1.0 and not SLOWEST_BPM <= bpm <= FASTEST_BPM:
                continue
            for bend, cost in _BENDS:
                beats_s = beat_times(self.strokes, tried, self.anchors(), bend)
                prior = self._prior(bpm, beats_s) - cost * len(self.attacks)
                for per_bar in meters:
                    layout = lay_bars(
                        beats_s, strikes, self.strokes[1:], per_bar=per_bar, ones_s=self.ones_s
                    )
                    found.append(Reading(layout=layout, score=layout.score + prior, bend=bend))
        return found

    def _prior(self, bpm: float, beats_s: np.ndarray) -> float:
        """What is usual in comping, whatever is heard: its tempi, and attacks per beat."""
        onsets_s = self.strokes[0].time_s
        inside = (beats_s > onsets_s[0] - 60.0 / bpm) & (beats_s < onsets_s[-1] + 60.0 / bpm)
        return float(log_prior(bpm, len(onsets_s) / max(1, int(inside.sum()))))

    def settled(self, reading: Reading) -> Layout:
        """A layout with its beats where they belong: half beats moved, the end followed."""
        layout = reading.layout
        beats_s = layout.beats_s
        held_s = layout.halved()[: self._ending(beats_s)]
        known = [*self.anchors(), Anchors(time_s=held_s, spread=_HELD_SPREAD)]
        path = TempoPath(time_s=beats_s[:-1], bpm=60.0 / np.diff(beats_s))
        beats_s = beat_times(self.strokes, path, known, ENDING)
        return lay_bars(
            self._cut(beats_s),
            strikes_of(self.attacks),
            self.strokes[1:],
            per_bar=layout.per_bar,
            ones_s=self.ones_s,
            whole=True,
        )

    def _ending(self, beats_s: np.ndarray) -> int:
        """Where the last beats begin, which may become slower and slower."""
        return max(0, int(np.searchsorted(beats_s, self.strokes[0].time_s[-1])) - _LAST_BEATS)

    def _cut(self, beats_s: np.ndarray) -> np.ndarray:
        """Beats from at or before the first attack to after the last, none before 0."""
        onsets_s = self.strokes[0].time_s
        slack_s = 0.1 * float(np.median(np.diff(beats_s)))
        first = max(0, int(np.searchsorted(beats_s, onsets_s[0] + slack_s)) - 1)
        if self.ones_s:  # a bar that is told begins the grid, if nothing is played before it
            one = int(np.argmin(np.abs(beats_s - self.ones_s[0])))
            first = min(first, one)
        first = max(first, int(np.searchsorted(beats_s, -slack_s)))
        last = int(np.searchsorted(beats_s, onsets_s[-1] + slack_s))
        return np.maximum(beats_s[first : max(last, first + 1) + 1], 0.0)

    def confidence(self, best: Layout, readings: list[Reading]) -> float:
        """0 when attacks are no likelier on these beats than random ones would be, to 1.

        It is also low when other beats would explain the take nearly as well. A tempo that
        is known is no question.
        """
        first = readings[0]
        steady = max(
            self._in_beats(one.layout.beats_s)
            for one in readings
            if one.bend is STIFF and one.is_of_tempo(first)
        )
        share = max(self._share(best.score, *_IN_BARS), self._share(steady, *_IN_BEATS))
        rivals = [one.score for one in readings if not one.is_of_tempo(first)]
        lead = min(first.layout.half_lead, first.score - max(rivals, default=-np.inf))
        return (1.0 if self.told.bpm else share) * (1.0 - doubt(lead) / 2.0)

    def _in_beats(self, beats_s: np.ndarray) -> float:
        """Log-likelihood of the attacks on some beats, whatever the bars."""
        attacks = self.strokes[0]
        bins = np.rint(places_on(beats_s, attacks.time_s) * BINS).astype(int) % BINS
        bpm = 60.0 / float(np.median(np.diff(beats_s)))
        return float(attacks.weight @ attacks.log_density(bpm)[bins])

    def _share(self, score: float, none: float, sure: float) -> float:
        """How far a log-likelihood is beyond chance: 0 to 1."""
        count = len(self.attacks)
        beyond = (score - _BY_CHANCE * count) / float(np.sqrt(count))
        return min(1.0, max(0.0, (beyond - none) / (sure - none)))


def _grid(layout: Layout, heard: _Heard, confidence: float) -> BeatGrid:
    """The record, its bars numbered."""
    hinted = heard.told.meter is not None
    beats_s, numbers = layout.beats_s, layout.numbers()
    sure = is_sure(layout) or bool(heard.ones_s)
    if not sure:
        numbers = _from_first_attack(layout, heard)
    return BeatGrid(
        beats=tuple(
            Beat(time_s=round(float(time_s), 4), number=int(number))
            for time_s, number in zip(beats_s, numbers, strict=True)
        ),
        tempo_bpm=round(60.0 / float(np.mean(np.diff(beats_s))), 1),
        beats_per_bar=layout.per_bar,
        source="hint" if hinted else "heard" if sure else "assumed",
        confidence=round(confidence, 3),
    )


def _from_first_attack(layout: Layout, heard: _Heard) -> np.ndarray:
    """Numbers that begin with a one on the beat of the first attack."""
    first = float(places_on(layout.beats_s, heard.strokes[0].time_s[:1])[0])
    index = np.arange(len(layout.beats_s))
    numbers: np.ndarray = (index - round(first)) % layout.per_bar + 1
    return numbers
