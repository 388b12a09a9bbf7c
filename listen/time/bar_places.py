"""Where in the bar a comping player strikes, and where his notes are new.

Nothing of harmony is known here. What is known is common practice of comping: chords change
on the first beat, in four also on the third, or are anticipated by half a beat; what is only
struck again falls nearly anywhere, most often on the first beat. An attack is as new as the
share of its pitch classes that did not sound before it.

`rotation_scores` asks of given beats how well each way of laying bars over them explains the
attacks, shifts by half a beat included (a straight off-beat can pass for the beat; the
changes of the chords tell).

Units: places in beats of the bar from 0; scores are log-likelihoods against attacks that
fall anywhere.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from stackline.listen.time.strokes import BINS, mixture
from stackline.shared.notes import Attack

_NEW = {  # shares of attacks whose notes are new; the rest may fall anywhere
    3: {0.0: 0.48, 1.0: 0.10, 2.0: 0.09, 0.5: 0.05, 1.5: 0.07, 2.5: 0.13},
    4: {0.0: 0.42, 1.0: 0.05, 2.0: 0.12, 3.0: 0.05, 0.5: 0.04, 1.5: 0.08, 2.5: 0.05, 3.5: 0.13},
}
_AGAIN = {  # and of those that are struck again
    3: {0.0: 0.20, 1.0: 0.17, 2.0: 0.17, 0.5: 0.10, 1.5: 0.15, 2.5: 0.11},
    4: {0.0: 0.18, 1.0: 0.10, 2.0: 0.14, 3.0: 0.10, 0.5: 0.08, 1.5: 0.13, 2.5: 0.10, 3.5: 0.08},
}
_SWUNG = {0.5: 0.4, 0.58: 0.25, 2 / 3: 0.35}  # how a half of a beat is played
_TIMING_S, _TIMING_BEATS = 0.016, 0.025
_LONE = 0.5  # weight of an attack of one note: a bass note touched, a melody
_BPM_STEP = 1.1


@dataclass(frozen=True, kw_only=True, eq=False)
class Strikes:
    """What the bars are told from, arrays of shape (n,). new: 0 (struck again) to 1."""

    time_s: np.ndarray
    new: np.ndarray
    weight: np.ndarray

    def part(self, first: int, after: int) -> "Strikes":
        """Those from `first` to before `after`."""
        inside = slice(first, after)
        return Strikes(time_s=self.time_s[inside], new=self.new[inside], weight=self.weight[inside])


def strikes_of(attacks: Sequence[Attack]) -> Strikes:
    """Times, newness and weights of attacks."""
    new, before = [], frozenset[int]()
    for attack in attacks:
        struck = {note.midi % 12 for note in attack.struck}
        new.append(len(struck - before) / len(struck))
        if len(attack.struck) > 1:
            before = frozenset(pitch % 12 for pitch in attack.pitches)
    return Strikes(
        time_s=np.array([attack.onset_s for attack in attacks]),
        new=np.array(new),
        weight=np.array(
            [
                max(note.confidence for note in attack.struck)
                * (_LONE if len(attack.struck) == 1 else 1.0)
                for attack in attacks
            ]
        ),
    )


def rotation_scores(strikes: Strikes, beats_s: np.ndarray, per_bar: int) -> np.ndarray:
    """The score of each attack for each way to lay bars: shape (n, 2 * per_bar).

    In column r the first of `beats_s` stands r half beats after a downbeat.
    """
    places = places_on(beats_s, strikes.time_s)
    period_s = float(np.median(np.diff(beats_s)))
    new, again = _densities(per_bar, round(float(np.log(60 / period_s) / np.log(_BPM_STEP))))
    turns = np.arange(2 * per_bar) / 2
    bins = np.rint((places[:, None] + turns) * BINS).astype(int) % (BINS * per_bar)
    mixed = strikes.new[:, None] * new[bins] + (1 - strikes.new[:, None]) * again[bins]
    scores: np.ndarray = strikes.weight[:, None] * np.log(mixed)
    return scores


def places_on(beats_s: np.ndarray, times_s: np.ndarray) -> np.ndarray:
    """Times as places on beats (0.5 is halfway to the second), going on at either end."""
    places = np.interp(times_s, beats_s, np.arange(len(beats_s)))
    first, last = beats_s[1] - beats_s[0], beats_s[-1] - beats_s[-2]
    early, late = np.minimum(times_s - beats_s[0], 0.0), np.maximum(times_s - beats_s[-1], 0.0)
    at: np.ndarray = places + early / first + late / last
    return at


def shares(per_bar: int) -> tuple[dict[float, float], dict[float, float]]:
    """Shares of new and of repeated attacks on the beats and half beats of a bar."""
    new = _NEW.get(per_bar) or _any_meter(per_bar, 0.42)
    return new, _AGAIN.get(per_bar) or _any_meter(per_bar, 0.18)


@lru_cache(maxsize=256)
def _densities(per_bar: int, bpm_step: int) -> tuple[np.ndarray, np.ndarray]:
    """Densities over the bar for new and for repeated attacks."""
    spread = float(np.hypot(_TIMING_BEATS, _TIMING_S * _BPM_STEP**bpm_step / 60.0))
    new, again = shares(per_bar)
    return (
        mixture(_with_swing(new), spread, n_beats=per_bar),
        mixture(_with_swing(again), spread, n_beats=per_bar),
    )


def _any_meter(per_bar: int, on_one: float) -> dict[float, float]:
    """Shares for a meter without a table: the one, the last half of the bar, the rest evenly."""
    halves = [place / 2 for place in range(2 * per_bar)]
    even = (0.92 - on_one) / (2 * per_bar)
    return {place: even + (on_one if place == 0.0 else 0.0) for place in halves}


def _with_swing(table: dict[float, float]) -> dict[float, float]:
    """Halves of beats spread over the ways to play them."""
    spread: dict[float, float] = {}
    for place, share in table.items():
        if place % 1.0 == 0.0:
            spread[place] = share
        else:
            spread |= {int(place) + late: share * part for late, part in _SWUNG.items()}
    return spread
