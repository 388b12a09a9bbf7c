"""The beats and bars of a take, or the honest absence of a pulse.

What is played shows the pulse (`listen.strokes`): attacks, and clicks where they are regular.
The tempo, window by window, is that of `listen.pulse`; beats are the path of
`listen.beat_path` at that tempo, its double, its half, and in three against two; bars of four
and of three are laid over each (`listen.bars`), and what explains the take best is taken.
A count before the music (`listen.count_in`) and the player's word settle what they settle.

Some path always exists, even through rubato. Beats are believed when the attacks are
clearly likelier on them than anywhere; otherwise the grid is empty and the tempo None.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from listen.bar_places import places_on, strikes_of
from listen.bars import OTHER_METERS, USUAL_BEATS_PER_BAR, Layout, is_sure, lay_bars
from listen.beat_path import ENDING, FREE, STIFF, Anchors, Bend, beat_times
from listen.clicks import NO_CLICKS, Clicks, apart_from
from listen.count_in import CountIn, find_count_in
from listen.one_a_bar import CONFIDENCE, assumed_bars, is_struck_once_a_bar
from listen.pulse import TempoPath, regular, tempo_path
from listen.strokes import BINS, Strokes, of_attacks, of_clicks
from listen.time_hints import TimeHints, check_hints
from shared.notes import Attack, Beat, BeatGrid

_FEWEST_ATTACKS = 8  # fewer show no pulse, unless the tempo is known
_CLICK_WEIGHT = 2.0  # of a regular click against an attack: it leads
_FACTORS = (1.0, 2.0, 0.5, 1.5, 2 / 3)  # tempi that a tempo can be mistaken for
_BENDS = ((FREE, 0.05), (STIFF, 0.0))  # and what bending costs, for each attack
_SAME_TEMPO = 0.15  # relative
_SLOWEST_BPM, _FASTEST_BPM = 42.0, 260.0
_USUAL_BPM, _BPM_SPREAD = 110.0, 0.4  # log-normal prior of the tempo of a take
_USUAL_ATTACKS, _ATTACKS_SPREAD = 0.8, 0.25  # per beat, log-normal
_LAST_BEATS = 12
_CLICKS_BETWEEN = 1.2  # clicks for each attack
_COUNT_SPREAD, _ONE_SPREAD, _HELD_SPREAD = 0.03, 0.10, 0.12  # of known beats, in beats
# Log-likelihoods of n attacks, less what attacks at random reach on a path that may bend (this
# much for each), over the root of n. In bars: attacks at random are left with 0.3 to 2.3, made
# comping with 3.5 and more, where the tempo drifts and slows 2.7 and more. In the beats of a
# stiff path, whatever the bars: at random -3.3 to -0.2, comping 0.9 and more.
_BY_CHANCE = 0.36
_IN_BARS, _IN_BEATS = (2.3, 3.2), (0.3, 1.8)  # from no pulse to a sure one
_SETTLED = 4.0  # by how much other readings must be less likely to be out of the question


def find_beats(
    attacks: Sequence[Attack], *, clicks: Clicks = NO_CLICKS, hints: TimeHints | None = None
) -> BeatGrid:
    """The beat grid of a take, from at or before its first attack to after its last.

    clicks: all that `listen.clicks` found. Raises Complaint for hints out of range. Empty
    without a steady pulse.
    """
    hints = hints or TimeHints()
    check_hints(hints)
    heard = _Heard.of(attacks, apart_from(clicks, attacks), hints)
    silence = BeatGrid(
        beats_per_bar=hints.beats_per_bar or USUAL_BEATS_PER_BAR,
        source="hint" if hints.beats_per_bar else "assumed",
    )
    if len(attacks) < (1 if heard.known_bpm else _FEWEST_ATTACKS):
        return silence
    if not heard.known_bpm and not heard.is_clicked:
        assumed = assumed_bars(attacks, silence.beats_per_bar)
        if assumed:
            return assumed
    readings = sorted(heard.readings(), key=lambda one: one.score, reverse=True)
    best = heard.settled(readings[0])
    confidence = heard.confidence(best, readings)
    if confidence <= 0.0:
        return silence
    grid = _grid(best, heard, confidence)
    told = heard.known_bpm or heard.is_clicked or heard.ones_s
    if not told and grid.source == "heard" and is_struck_once_a_bar(grid, attacks):
        return replace(grid, source="assumed", confidence=min(grid.confidence, CONFIDENCE))
    return grid


@dataclass(frozen=True, kw_only=True, eq=False)
class Reading:
    """One way to count a take. score: of its layout and of what is usual."""

    layout: Layout
    score: float
    bend: Bend

    def is_of_tempo(self, other: "Reading") -> bool:
        """Whether both beat at the same rate."""
        mine, its = (np.median(np.diff(one.layout.beats_s)) for one in (self, other))
        return bool(abs(np.log(mine / its)) < _SAME_TEMPO)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Heard:
    """All that bears on the beats of one take."""

    attacks: Sequence[Attack]
    hints: TimeHints
    strokes: tuple[Strokes, ...]  # attacks first, then regular clicks
    count: CountIn | None

    @classmethod
    def of(cls, attacks: Sequence[Attack], clicks: Clicks, hints: TimeHints) -> "_Heard":
        weight = _CLICK_WEIGHT * regular(clicks) * clicks.strength
        strokes = [of_attacks(attacks)] if attacks else []
        if weight.any():
            strokes.append(of_clicks(clicks, weight))
        count = find_count_in(clicks, attacks, hints.count_in)
        return cls(attacks=attacks, hints=hints, strokes=tuple(strokes), count=count)

    @property
    def known_bpm(self) -> float | None:
        """The tempo that was told or counted."""
        return self.hints.tempo_bpm or (60.0 / self.count.period_s if self.count else None)

    @property
    def is_clicked(self) -> bool:
        """Whether clicks stand between attacks, not only one after each (a damper, a pedal)."""
        clicks = sum(len(some.time_s) for some in self.strokes[1:])
        return clicks > _CLICKS_BETWEEN * len(self.attacks)

    @property
    def ones_s(self) -> tuple[float, ...]:
        """Downbeats that were told or counted; the player's word goes first."""
        if self.hints.first_beat_s is not None:
            return (self.hints.first_beat_s,)
        return (self.count.first_beat_s,) if self.count else ()

    def anchors(self) -> list[Anchors]:
        """Beats that were told or counted."""
        found = [Anchors(time_s=np.array(self.ones_s), spread=_ONE_SPREAD)] if self.ones_s else []
        if self.count:
            found.append(Anchors(time_s=self.count.clicks_s, spread=_COUNT_SPREAD))
        return found

    def readings(self) -> list[Reading]:
        """Every reading, tempo by tempo and meter by meter."""
        path = tempo_path(self.strokes, given_bpm=self.known_bpm)
        told = self.hints.beats_per_bar
        meters = (told,) if told else (USUAL_BEATS_PER_BAR, *OTHER_METERS)
        strikes, found = strikes_of(self.attacks), []
        for factor in (1.0,) if self.known_bpm else _FACTORS:
            tried = TempoPath(time_s=path.time_s, bpm=path.bpm * factor)
            bpm = float(np.median(tried.bpm))
            if factor != 1.0 and not _SLOWEST_BPM <= bpm <= _FASTEST_BPM:
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
        per_beat = len(onsets_s) / max(1, int(inside.sum()))
        off_tempo = np.log(bpm / _USUAL_BPM) / _BPM_SPREAD
        off_attacks = np.log(per_beat / _USUAL_ATTACKS) / _ATTACKS_SPREAD
        return float(-0.5 * (off_tempo**2 + off_attacks**2))

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
        doubt = float(np.exp(-max(0.0, lead) / _SETTLED))
        return (1.0 if self.known_bpm else share) * (1.0 - doubt / 2.0)

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
    hinted = heard.hints.beats_per_bar is not None
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
