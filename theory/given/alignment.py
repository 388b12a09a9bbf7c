"""Laying attacks under given changes: which chord of the form each attack belongs to.

Every attack is scored against every chord of the form: by how well its notes fit the
chord, or a common substitution of it at a price. Two ways are tried and the better one
is taken:

in time   With a beat grid, the form is laid over the beats at the offset (and at the pulse,
          halved or doubled) that fits best. An attack up to half a beat early belongs to
          the chord to come (an anticipation), one a little late may belong to the old one.
in order  Without a pulse, or where the beats fit badly: chords follow in order, each for as
          long as the notes say; leaving one out costs.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.shared.harmony import ChordSymbol
from stackline.shared.notes import BeatGrid
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.labelling.likelihood import N_ROLES, ROLES
from stackline.theory.labelling.shape_scores import role_of
from stackline.theory.sheet.changes import Changes, PlacedChord, place_chords
from stackline.theory.sounding import Sounding

COLOUR_PRICE, ROLE_PRICE, TRITONE_PRICE, SLIP_PRICE, OTHER_PRICE = 0.2, 1.5, 2.0, 3.0, 6.0
EARLY_BEATS, LATE_BEATS = 0.5, 0.34
SKIP_PRICE, START_PRICE, PULSE_PRICE, ORDER_PRICE = 4.0, 1.0, 6.0, 0.6
REST_PRICE = 1.0  # playing where the changes rest
PULSES = (1.0, 0.5, 2.0)


@dataclass(frozen=True, kw_only=True)
class Placed:
    """Where an attack stands: number of the chord in the endless form, and its times."""

    number: int
    chord: PlacedChord
    start_s: float
    end_s: float


def align(
    steps: Sequence[Sounding],
    scores: np.ndarray,
    grid: BeatGrid,
    changes: Changes,
    end_s: float,
) -> list[Placed]:
    """The chord of each step.

    scores: (n, 108) log-likelihoods of the notes for each root * 9 + role.
    """
    if not steps:
        return []
    placed = place_chords(changes, grid.beats_per_bar)
    fits = _fits(scores, placed)
    ordered, order_value = _in_order(fits)
    best_order = _by_attacks(steps, ordered, placed, end_s)
    if len(grid.beats) < 2:
        return best_order
    beats_s = np.array([beat.time_s for beat in grid.counted_through()])
    timed, time_value = _in_time(steps, fits, placed, grid.beats_per_bar, beats_s)
    if order_value - ORDER_PRICE * len(steps) > time_value:
        return best_order
    numbers, offset, pulse = timed
    return _by_beats(numbers, placed, grid.beats_per_bar, beats_s, offset, pulse, end_s)


def _fits(scores: np.ndarray, placed: Sequence[PlacedChord]) -> np.ndarray:
    """How well each step fits each chord of the form: (n, chords), at most 0."""
    best = scores.max(axis=1)
    floor = best - OTHER_PRICE
    columns = []
    for one in placed:
        if one.symbol is None:
            columns.append(np.full(len(scores), -REST_PRICE))
            continue
        options = [scores[:, state] - price for state, price in _welcome(one.symbol)]
        columns.append(np.max([*options, floor], axis=0) - best)
    return np.array(columns).T


def _welcome(symbol: ChordSymbol) -> list[tuple[int, float]]:
    """States (root * 9 + role) that may be played for a chord, each with its price."""
    root = pitch_class_of(symbol.root)
    own = role_of(symbol.quality)
    found = [(root * N_ROLES + own, 0.0)]
    for number, role in enumerate(ROLES):
        same_family = role.family == ROLES[own].family
        dominant = {role.family, ROLES[own].family} <= {"dominant", "suspended"}
        if dominant and number != own:
            found.append((root * N_ROLES + number, COLOUR_PRICE))
        elif same_family and number != own:
            found.append((root * N_ROLES + number, ROLE_PRICE))
        if dominant and role.family == "dominant":
            found.append(((root + 6) % 12 * N_ROLES + number, TRITONE_PRICE))
        if same_family:
            found += [((root + slip) % 12 * N_ROLES + number, SLIP_PRICE) for slip in (1, 11)]
    return found


def _in_order(fits: np.ndarray) -> tuple[list[int], float]:
    """The best way through the endless form without times: chord numbers, and its value."""
    n, form = fits.shape
    length = min(n + form, 3 * n + form)
    unrolled = fits[:, np.arange(length) % form]
    value = unrolled[0] - START_PRICE * (np.arange(length) > 0)
    value[form:] = -np.inf
    came = np.zeros((n, length), dtype=np.int32)
    for i in range(1, n):
        options = np.full((4, length), -np.inf)
        options[0] = value
        options[1, 1:] = value[:-1]
        options[2, 2:] = value[:-2] - SKIP_PRICE
        options[3, 3:] = value[:-3] - 2 * SKIP_PRICE
        came[i] = options.argmax(axis=0)
        value = options.max(axis=0) + unrolled[i]
    at = int(value.argmax())
    total = float(value[at])
    path = [at]
    for i in range(n - 1, 0, -1):
        at -= int(came[i, at])
        path.append(at)
    return path[::-1], total


def _beat_of(times: np.ndarray, beats: np.ndarray) -> np.ndarray:
    """Fractional beat index of times, continued evenly beyond the ends of the beats."""
    index = np.interp(times, beats, np.arange(len(beats)))
    first, last = beats[1] - beats[0], beats[-1] - beats[-2]
    index = np.where(times < beats[0], (times - beats[0]) / first, index)
    return np.where(times > beats[-1], len(beats) - 1 + (times - beats[-1]) / last, index)


def _time_of(beat: float, beats: np.ndarray) -> float:
    """The time of a fractional beat index."""
    if beat <= 0:
        return float(beats[0] + beat * (beats[1] - beats[0]))
    if beat >= len(beats) - 1:
        return float(beats[-1] + (beat - len(beats) + 1) * (beats[-1] - beats[-2]))
    low = int(beat)
    return float(beats[low] + (beat - low) * (beats[low + 1] - beats[low]))


def _in_time(
    steps: Sequence[Sounding],
    fits: np.ndarray,
    placed: Sequence[PlacedChord],
    beats_per_bar: int,
    beats_s: np.ndarray,
) -> tuple[tuple[list[int], float, float], float]:
    """The best offset of the form on the beats: (chord numbers, offset, pulse), value."""
    times = np.array([step.attack.onset_s for step in steps])
    heard = _beat_of(times, beats_s)
    starts = _starts(placed, beats_per_bar)
    length = float(starts[-1] + placed[-1].beats)
    best_value, best = -np.inf, ([0] * len(steps), 0.0, 1.0)
    for pulse in PULSES:
        beats = heard * pulse
        first = float(np.floor(beats[0] + EARLY_BEATS))
        for back in range(int(np.ceil(length))):
            offset = first - back
            numbers, value = _laid(beats - offset, fits, starts, length)
            value -= START_PRICE * (back > 0) + PULSE_PRICE * (pulse != 1.0)
            if value > best_value + 1e-9:
                best_value, best = value, (numbers, offset, pulse)
    return best, best_value


def _starts(placed: Sequence[PlacedChord], beats_per_bar: int) -> np.ndarray:
    return np.array([one.bar * beats_per_bar + float(one.beat) for one in placed])


def _laid(
    beats: np.ndarray, fits: np.ndarray, starts: np.ndarray, length: float
) -> tuple[list[int], float]:
    """Chord numbers and fit when the form starts at beat 0: early and late attacks choose."""
    form = len(starts)
    rows = np.arange(len(beats))
    options = []
    for shift in (0.0, EARLY_BEATS, -LATE_BEATS):
        place = beats + shift + 1e-6
        turn = np.floor(place / length)
        chord = np.searchsorted(starts, place - turn * length, side="right") - 1
        options.append((turn * form + chord).astype(int))
    values = np.array([fits[rows, numbers % form] for numbers in options])
    values[1:] -= 0.05  # the beat itself decides between equals
    chosen = values.argmax(axis=0)
    numbers = np.array(options)[chosen, rows]
    return [int(number) for number in numbers], float(values.max(axis=0).sum())


def _by_beats(
    numbers: Sequence[int],
    placed: Sequence[PlacedChord],
    beats_per_bar: int,
    beats_s: np.ndarray,
    offset: float,
    pulse: float,
    end_s: float,
) -> list[Placed]:
    """Times of chords from the beats."""
    starts = _starts(placed, beats_per_bar)
    length = float(starts[-1] + placed[-1].beats)
    found = []
    for number in numbers:
        turn, index = divmod(number, len(placed))
        beat = turn * length + starts[index] + offset
        start = _time_of(beat / pulse, beats_s)
        end = _time_of((beat + float(placed[index].beats)) / pulse, beats_s)
        found.append(
            Placed(
                number=number,
                chord=placed[index],
                start_s=max(0.0, start),
                end_s=max(0.0, min(end, max(end_s, start))),
            )
        )
    return found


def _by_attacks(
    steps: Sequence[Sounding], numbers: Sequence[int], placed: Sequence[PlacedChord], end_s: float
) -> list[Placed]:
    """Times of chords from their first attacks."""
    onsets = [step.attack.onset_s for step in steps]
    found = []
    for number in numbers:
        first = numbers.index(number)
        later = next((i for i in range(first, len(numbers)) if numbers[i] != number), None)
        end = onsets[later] if later is not None else max(end_s, onsets[-1])
        chord = placed[number % len(placed)]
        found.append(Placed(number=number, chord=chord, start_s=onsets[first], end_s=end))
    return found
