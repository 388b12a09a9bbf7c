"""The beats of a take from its attacks alone: no click, no drummer.

Attacks are placed in the bar (`place_path`), in four or three beats; beats are drawn through
the runs that are in time (`in_time`); the rest is out of time, and told. How sure all
this is, is asked of the rivals: another tempo, other halves of the beat, other downbeats.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stackline.listen.time.bar_places import Strikes, places_on, strikes_of
from stackline.listen.time.told import Told
from stackline.listen.time.usual_tempi import SURE_BARS, USUAL_METERS, doubt
from stackline.listen.time.without_clicks.in_time import FEWEST, Run, passages, runs_of, turn_scores
from stackline.listen.time.without_clicks.place_path import Asked, PlacePath, place_attacks
from stackline.shared.notes import Attack, Beat, BeatGrid, GridSource

_SAMPLES, _SAMPLE = 3, 32  # pieces of a long take, and attacks in each
_BARS_SAY = 0.3  # weight of what stands where in the bar, when meters are weighed
_LEAST_IN_TIME = 0.25  # share of the attacks of a take with a pulse
# A path's score over the root of its attacks: of random ones -1.5 to -1.1, of comping in a
# steady tempo 0.6 and more, where the tempo drifts and slows -0.8 and more.
_CHANCE, _SURE = -1.1, 1.0
_LEAST_CONFIDENCE = 0.2  # beats that are hardly believed are none
_DOUBTED = 0.55  # what a rival as likely takes away: more than even odds


def comping_beats(attacks: Sequence[Attack], told: Told) -> BeatGrid | None:
    """The grid of a take of an attack or more; None where no pulse is found."""
    strikes = strikes_of(attacks)
    asked = Asked(meters=(told.meter,) if told.meter else USUAL_METERS, told_bpm=told.bpm)
    fewest = 1 if told.bpm else FEWEST
    laid = [_Laid.of(path, strikes, fewest) for path in place_attacks(strikes, asked)]
    path, runs, turns = max(laid, key=_Laid.score)
    in_time = sum(run.last - run.first + 1 for run in runs)
    if not runs or (not told.bpm and in_time < _LEAST_IN_TIME * len(attacks)):
        return None
    heard = turns[0] - turns[2::2].max(initial=-np.inf) >= SURE_BARS
    if told.one_s is not None:
        runs, heard = _turned(runs, told.one_s, path.meter), True
    confidence = 1.0 if told.bpm else _confidence(path, strikes, asked, turns)
    if confidence < _LEAST_CONFIDENCE:
        return None
    return _grid(
        runs,
        strikes,
        per_bar=path.meter,
        source="hint" if told.meter else "heard" if heard else "assumed",
        confidence=confidence,
    )


class _Laid(NamedTuple):
    """A path, its runs, and how likely the attacks are in its bars, turned by half beats."""

    path: PlacePath
    runs: list[Run]
    turns: np.ndarray

    @classmethod
    def of(cls, path: PlacePath, strikes: Strikes, fewest: int) -> "_Laid":
        runs = runs_of(path, strikes, fewest=fewest)
        return cls(path, runs, turn_scores(runs, strikes, path.meter))

    def score(self) -> float:
        """The path leads; between two meters, what stands where in the bar has a say."""
        return self.path.score + _BARS_SAY * float(self.turns[0])


def _confidence(path: PlacePath, strikes: Strikes, asked: Asked, turns: np.ndarray) -> float:
    """How far a path is beyond chance, and beyond other tempi and other halves of the beat."""
    lead = min(_tempo_lead(path, strikes, asked), float(turns[0] - turns[1::2].max()))
    return _share(path) * (1.0 - _DOUBTED * doubt(lead))


def _tempo_lead(path: PlacePath, strikes: Strikes, asked: Asked) -> float:
    """By how much other tempi are less likely, on samples of a long take."""
    mine = replace(asked, manner=path.manner)
    rival = replace(mine, not_bpm=float(np.nanmedian(path.bpm)))
    samples = _samples(strikes)
    ours = path.score if len(samples) == 1 else sum(_best(one, mine) for one in samples)
    lead = ours - sum(_best(one, rival) for one in samples)
    return min(lead, path.tempo_lead)


def _best(strikes: Strikes, asked: Asked) -> float:
    return place_attacks(strikes, asked)[0].score


def _samples(strikes: Strikes) -> list[Strikes]:
    """The strikes, or of a long take some pieces spread over it."""
    count = len(strikes.time_s)
    if count <= _SAMPLES * _SAMPLE:
        return [strikes]
    starts = np.linspace(0, count - _SAMPLE, _SAMPLES).astype(int)
    return [strikes.part(first, first + _SAMPLE) for first in starts]


def _share(path: PlacePath) -> float:
    """How far a path is likelier than those of random attacks: 0 to 1."""
    beyond = path.score / float(np.sqrt(len(path.beats)))
    return min(1.0, max(0.0, (beyond - _CHANCE) / (_SURE - _CHANCE)))


def _turned(runs: Sequence[Run], one_s: float, per_bar: int) -> list[Run]:
    """The runs, the one that is nearest to a known downbeat moved so that it is one there."""
    off_s = [max(run.beats_s[0] - one_s, one_s - run.beats_s[-1], 0.0) for run in runs]
    nearest = int(np.argmin(off_s))
    run = runs[nearest]
    at = run.start + float(places_on(run.beats_s, np.array([one_s]))[0])
    off = (round(2 * at) / 2 + per_bar / 2) % per_bar - per_bar / 2
    turned = run.moved(off)
    if one_s < turned.beats_s[0]:
        turned = _led_in(turned, one_s)
    return [turned if i == nearest else one for i, one in enumerate(runs)]


def _led_in(run: Run, one_s: float) -> Run:
    """The run with beats before it, from a downbeat that nothing is played on."""
    period_s = run.beats_s[1] - run.beats_s[0]
    count = round((run.beats_s[0] - one_s) / period_s)
    lead_s = run.beats_s[0] - period_s * np.arange(count, 0, -1)
    return replace(
        run, beats_s=np.concatenate((np.maximum(lead_s, 0.0), run.beats_s)), start=run.start - count
    )


def _grid(
    runs: Sequence[Run],
    strikes: Strikes,
    *,
    per_bar: int,
    source: GridSource,
    confidence: float,
) -> BeatGrid:
    """The record."""
    beats = tuple(
        Beat(time_s=round(float(time_s), 4), number=(run.start + i) % per_bar + 1)
        for run in runs
        for i, time_s in enumerate(run.beats_s)
    )
    periods_s = np.concatenate([np.diff(run.beats_s) for run in runs])
    return BeatGrid(
        beats=beats,
        tempo_bpm=round(60.0 / float(np.median(periods_s)), 1),
        beats_per_bar=per_bar,
        source=source,
        confidence=round(confidence, 3),
        out_of_time=passages(runs, strikes.time_s),
    )
