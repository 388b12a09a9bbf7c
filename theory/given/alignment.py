"""Laying attacks under given changes: which chord of the form each attack belongs to.

Every attack is scored against every chord of the form: by how well its notes fit the
chord, or a common substitution of it at a price. Two ways are tried and the better one
is taken:

in time   With a beat grid, the form is laid over the beats where it fits best (`laid_in_time`).
in order  Without a pulse, or where the beats fit badly: chords follow in order, each for as
          long as the notes say; leaving one out costs.

A pickup is asked about before the first time through, and never again. Prices are in units of
log-likelihood, chosen on made takes; those of this file are unverified beyond that.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.shared.harmony import ChordSymbol
from stackline.shared.notes import BeatGrid
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.given.laid_in_time import (
    NUMBER_PRICE,
    ON_BEAT,
    Form,
    Layout,
    beat_of,
    lay_in_time,
    time_of,
)
from stackline.theory.labelling.likelihood import N_ROLES, ROLES
from stackline.theory.labelling.shape_scores import role_of
from stackline.theory.labelling.step_scores import Scored
from stackline.theory.sheet.changes import Changes, PlacedChord, place_chords, place_pickup
from stackline.theory.sounding import Sounding

# Of a substitution, the likelier the cheaper.
COLOUR_PRICE, ROLE_PRICE, TRITONE_PRICE, SLIP_PRICE, OTHER_PRICE = 0.2, 1.5, 2.0, 3.0, 6.0
# Of a chord left out, a start inside, keeping the order.
SKIP_PRICE, START_PRICE, ORDER_PRICE = 4.0, 1.0, 0.6
REST_PRICE = 1.0  # playing where the changes rest


@dataclass(frozen=True, kw_only=True)
class Placed:
    """Where an attack stands: number of the chord in the endless form, and its times."""

    number: int
    chord: PlacedChord
    start_s: float
    end_s: float


def align(
    scored: Scored,
    grid: BeatGrid,
    changes: Changes,
    end_s: float,
) -> list[Placed]:
    """The chord of each step."""
    steps, scores = scored.steps, scored.chords
    if not steps:
        return []
    placed = place_chords(changes, grid.beats_per_bar)
    fits = _fits(scores, placed)
    ordered, order_value = _in_order(fits)
    best_order = _by_attacks(steps, ordered, placed, end_s)
    if len(grid.beats) < 2:
        return best_order
    beats_s = np.array([beat.time_s for beat in grid.counted_through()])
    onsets_s = np.array([step.attack.onset_s for step in steps])
    pickup = place_pickup(changes, grid.beats_per_bar)
    form = Form.of(placed, pickup, grid.beats_per_bar)
    before = _fits(scores, pickup).max(axis=1) if pickup else np.zeros(len(steps))
    layout = lay_in_time(onsets_s, fits, before, form, grid, beats_s)
    if order_value - ORDER_PRICE * len(steps) - NUMBER_PRICE[grid.source] > layout.notes:
        return best_order
    found = _by_beats(layout, placed, form, beats_s, end_s)
    return _with_pickup(found, layout, pickup, beat_of(onsets_s, beats_s), beats_s)


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


def _by_beats(
    layout: Layout,
    placed: Sequence[PlacedChord],
    form: Form,
    beats_s: np.ndarray,
    end_s: float,
) -> list[Placed]:
    """Times of chords from the beats."""
    found = []
    for number in layout.numbers:
        chord = placed[number % len(placed)]
        beat = float(form.start_of(np.array(number))) + layout.offset
        start = time_of(beat / layout.pulse, beats_s)
        end = time_of((beat + float(chord.beats)) / layout.pulse, beats_s)
        found.append(
            Placed(
                number=number,
                chord=chord,
                start_s=max(0.0, start),
                end_s=max(0.0, min(end, max(end_s, start))),
            )
        )
    return found


def _with_pickup(
    found: list[Placed],
    layout: Layout,
    pickup: Sequence[PlacedChord],
    heard: np.ndarray,
    beats_s: np.ndarray,
) -> list[Placed]:
    """Attacks before the first bar have the chords of the pickup, if there is one.

    heard: the beat of each attack.
    """
    if not pickup:
        return found
    after = float(pickup[-1].beat + pickup[-1].beats)
    starts = [float(one.beat) - after for one in pickup] + [0.0]
    rows = list(found)
    for i, place in enumerate(heard * layout.pulse - layout.offset):
        if rows[i].number < 0:
            at = max(
                [k for k, start in enumerate(starts[:-1]) if start <= place + ON_BEAT], default=0
            )
            start_s, end_s = (
                max(0.0, time_of((one + layout.offset) / layout.pulse, beats_s))
                for one in starts[at : at + 2]
            )
            number = at - len(pickup)
            rows[i] = Placed(number=number, chord=pickup[at], start_s=start_s, end_s=end_s)
    return rows


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
