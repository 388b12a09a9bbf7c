"""Which beat is the first of the bar.

Nothing of harmony is known here. The signs are facts of the sound: on downbeats chords
change, so the notes struck there are new, and they are struck harder and fuller. An attack
within the last half of a beat counts for the beat that it anticipates when it is tied over
it (nothing is struck there). When one place in the bar stands out clearly, the bars are
"heard"; otherwise the take is taken to begin on a downbeat and the bars are "assumed",
which readers are told.
"""

from collections.abc import Sequence

import numpy as np

from shared.notes import Attack, Beat, BeatGrid, GridSource

USUAL_BEATS_PER_BAR = 4
_FEWEST_BARS = 6  # fewer show no weight
_CLEAR = 3.0  # standard errors by which the heaviest place must lead
_ON_BEAT = 1.0 / 6.0  # of a beat: nearer is on it
_FULL_VELOCITY = 320.0  # four notes at 80


def number_beats(
    times_s: np.ndarray,
    attacks: Sequence[Attack],
    *,
    beats_per_bar: int | None,
    confidence: float,
) -> BeatGrid:
    """A grid of beats at `times_s` with their numbers in the bar."""
    per_bar = beats_per_bar or USUAL_BEATS_PER_BAR
    weights = beat_weights(times_s, attacks)
    heaviest = heaviest_place(weights, per_bar)
    first = _first_struck(weights) if heaviest is None else heaviest
    beats = tuple(
        Beat(time_s=round(float(time_s), 4), number=(i - first) % per_bar + 1)
        for i, time_s in enumerate(times_s)
    )
    source: GridSource = "assumed" if heaviest is None else "heard"
    return BeatGrid(
        beats=beats,
        tempo_bpm=round(60.0 / float(np.mean(np.diff(times_s))), 1),
        beats_per_bar=per_bar,
        source="hint" if beats_per_bar else source,
        confidence=confidence,
    )


def _first_struck(weights: np.ndarray) -> int:
    struck = np.flatnonzero(weights > 0.0)
    return int(struck[0]) if len(struck) else 0


def beat_weights(times_s: np.ndarray, attacks: Sequence[Attack]) -> np.ndarray:
    """For every beat how new and how full the attack on it, or tied over it, is: 0 to 2."""
    weights = np.zeros(len(times_s))
    places = np.interp([one.onset_s for one in attacks], times_s, np.arange(len(times_s)))
    before: frozenset[int] = frozenset()
    for attack, place, following in zip(
        attacks, places, np.append(places[1:], np.inf), strict=True
    ):
        pitches = frozenset(note.midi % 12 for note in attack.struck)
        beat = round(place)
        is_on = abs(place - beat) <= _ON_BEAT
        is_tied = place % 1.0 >= 0.4 and following > np.ceil(place) + _ON_BEAT
        if is_on or is_tied:
            at = beat if is_on else int(np.ceil(place))
            if at < len(weights):
                fullness = sum(note.velocity for note in attack.struck) / _FULL_VELOCITY
                weights[at] += len(pitches - before) / len(pitches) + min(1.0, fullness)
        before = pitches
    return weights


def heaviest_place(weights: np.ndarray, per_bar: int) -> int | None:
    """The place in the bar (index of the first downbeat) that clearly weighs most, if any."""
    if per_bar < 2 or len(weights) < _FEWEST_BARS * per_bar:
        return None
    places = [weights[place::per_bar] for place in range(per_bar)]
    means = np.array([place.mean() for place in places])
    errors = np.array([place.std(ddof=1) / np.sqrt(len(place)) for place in places])
    order = np.argsort(means)[::-1]
    best, second = int(order[0]), int(order[1])
    spread = float(np.hypot(errors[best], errors[second]))
    return best if means[best] - means[second] > _CLEAR * max(spread, 1e-9) else None
