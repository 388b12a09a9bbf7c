"""The form laid over the beats: which beat the top of it falls on, and what each attack plays.

Every whole beat is tried as the top of the form, at the pulse as it is, halved and doubled. A
reading is worth how well the notes fit the chords that it gives them, less:

    number   where the bars of the form do not fall on the bars of the grid (beat numbers)
    place    for the first attack of each chord, how unusual its place is: on the beat that
             brings the chord or just before it is usual, later is not. Without this a form laid
             a beat early explains anticipated playing as well as the right one
    start    for a take that begins inside the form

An attack up to EARLY_BEATS before a chord may belong to it (an anticipation), and is likelier
to where nothing is struck on that beat. None belongs to the chord before the one that has begun: a
7th that hangs over the I at its start is the I's, and comes down late. Prices are in the units of
the notes' log-likelihoods; they were chosen on the odd tunes of `bench.harmony.laid`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stackline.shared.notes import BeatGrid
from stackline.theory.sheet.changes import PlacedChord

EARLY_BEATS = 0.6  # half a beat, and a little for human timing
ON_BEAT = 0.2  # within so many beats an attack is on the beat
EARLY_PRICE, LATE_PRICE, LATEST_PRICE = 0.1, 0.5, 0.8  # of a chord's first attack, by its place
LATE_FROM = 0.75  # a chord first struck later than this has let its beat go by
OWN_CHORD = 0.05  # between equals an attack belongs to the chord that holds
ANTICIPATES = 1.0  # and to the chord to come, if nothing is struck on its beat
ARRIVES = 3.0  # nearly always, if it is that beat's own attack, a little early
START_PRICE, PULSE_PRICE = 1.0, 6.0  # of a start inside the form, and of another pulse
# Of bars that are not the grid's, by where the grid is from.
NUMBER_PRICE = {"hint": 12.0, "heard": 6.0, "assumed": 2.0}
PULSES = (1.0, 0.5, 2.0)  # lengths of the beat that are tried


@dataclass(frozen=True, kw_only=True, eq=False)
class Layout:
    """Where the form lies. numbers: the chord of each attack, counted through all turns.

    offset: beat of the grid's pulse times `pulse` that is the top of the form; notes: what the
    fit of the notes alone is worth.
    """

    numbers: tuple[int, ...]
    notes: float
    value: float
    offset: float = 0.0
    pulse: float = 1.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Form:
    """A form in beats. starts: of each chord from the top; length: of one turn.

    pickup: beats before the first top that have chords of their own.
    """

    starts: np.ndarray
    length: float
    pickup: float = 0.0

    @classmethod
    def of(
        cls, placed: Sequence[PlacedChord], pickup: Sequence[PlacedChord], beats_per_bar: int
    ) -> "Form":
        """The beats of placed chords."""
        starts = np.array([one.bar * beats_per_bar + float(one.beat) for one in placed])
        return cls(
            starts=starts,
            length=float(starts[-1] + placed[-1].beats),
            pickup=float(sum(one.beats for one in pickup)),
        )

    def number_at(self, beats: np.ndarray) -> np.ndarray:
        """The chord that holds at each beat (n,), counted through all turns: (n,) int."""
        place = beats + 1e-6
        turn = np.floor(place / self.length)
        chord = np.searchsorted(self.starts, place - turn * self.length, side="right") - 1
        found: np.ndarray = (turn * len(self.starts) + chord).astype(int)
        return found

    def start_of(self, numbers: np.ndarray) -> np.ndarray:
        """The beat on which each chord begins: (n,), for numbers (n,)."""
        turn, chord = np.divmod(numbers, len(self.starts))
        found: np.ndarray = turn * self.length + self.starts[chord]
        return found


def lay_in_time(
    onsets_s: np.ndarray,
    fits: np.ndarray,
    pickup_fits: np.ndarray,
    form: Form,
    grid: BeatGrid,
    beats_s: np.ndarray,
) -> Layout:
    """The best layout. beats_s: at least two beats.

    fits: (attacks, chords), at most 0; pickup_fits: (attacks,), how each fits the pickup.
    """
    heard = beat_of(onsets_s, beats_s)
    layouts = []
    for pulse in PULSES:
        beats = heard * pulse
        for top in _tops(beats[0], form):
            price = _start_price(grid, top, pulse, beats[0])
            laid = _laid(beats - top, fits, pickup_fits, form)
            layouts.append(replace(laid, offset=top, pulse=pulse, value=laid.value - price))
    return max(layouts, key=lambda one: one.value)


def _tops(first: float, form: Form) -> list[float]:
    """Beats on which the top may fall so that the first attack is in the first turn."""
    latest = float(np.floor(first + EARLY_BEATS + form.pickup))
    return [latest - back for back in range(int(np.ceil(form.length)))]


def _start_price(grid: BeatGrid, top: float, pulse: float, first: float) -> float:
    """What a layout costs before any note is asked."""
    price = PULSE_PRICE if pulse != 1.0 else 0.0
    if first - top >= grid.beats_per_bar:
        price += START_PRICE
    if pulse == 1.0:
        number = (grid.beats[0].number - 1 + int(top)) % grid.beats_per_bar
        price += NUMBER_PRICE[grid.source] if number else 0.0
    return price


def _laid(place: np.ndarray, fits: np.ndarray, pickup_fits: np.ndarray, form: Form) -> Layout:
    """The form with its top on beat 0 of `place`, and what that is worth."""
    rows, size = np.arange(len(place)), len(form.starts)
    own, coming = form.number_at(place), form.number_at(place + EARLY_BEATS)
    own_fit, coming_fit = fits[rows, own % size], fits[rows, coming % size]
    if form.pickup:
        own_fit = np.where(own < 0, pickup_fits, own_fit)
        coming_fit = np.where(coming < 0, pickup_fits, coming_fit)
    ahead = form.start_of(coming) - place
    bonus = np.where(_is_alone(place, form.start_of(coming)), ANTICIPATES, -OWN_CHORD)
    bonus = np.where(ahead <= ON_BEAT, ARRIVES, bonus)
    early = (coming != own) & (coming_fit + bonus > own_fit)
    numbers = np.where(early, coming, own)
    notes = float(np.where(early, coming_fit, own_fit).sum())
    is_first = np.append(True, numbers[1:] != numbers[:-1]) & ((numbers >= 0) | (form.pickup == 0))
    prices = _place_prices((place - form.start_of(numbers))[is_first])
    return Layout(
        numbers=tuple(int(one) for one in numbers), notes=notes, value=notes - float(prices.sum())
    )


def _is_alone(place: np.ndarray, chord_starts: np.ndarray) -> np.ndarray:
    """Whether nothing is struck on the beat that brings the chord after each attack."""
    after = np.append(place[1:], np.inf)
    found: np.ndarray = after > chord_starts + ON_BEAT
    return found


def _place_prices(late: np.ndarray) -> np.ndarray:
    """Prices of chords first struck so many beats after their start."""
    prices = np.where(late < -ON_BEAT, EARLY_PRICE, 0.0)
    prices = np.where(late > ON_BEAT, LATE_PRICE, prices)
    found: np.ndarray = np.where(late > LATE_FROM, LATEST_PRICE, prices)
    return found


def beat_of(times: np.ndarray, beats: np.ndarray) -> np.ndarray:
    """Fractional beats of times, (n,) seconds, evenly beyond the ends of beats, (n_beats,)."""
    index = np.interp(times, beats, np.arange(len(beats)))
    first, last = beats[1] - beats[0], beats[-1] - beats[-2]
    index = np.where(times < beats[0], (times - beats[0]) / first, index)
    found: np.ndarray = np.where(
        times > beats[-1], len(beats) - 1 + (times - beats[-1]) / last, index
    )
    return found


def time_of(beat: float, beats: np.ndarray) -> float:
    """The time, seconds, of a fractional beat index. beats: times in seconds, (n_beats,)."""
    if beat <= 0:
        return float(beats[0] + beat * (beats[1] - beats[0]))
    if beat >= len(beats) - 1:
        return float(beats[-1] + (beat - len(beats) + 1) * (beats[-1] - beats[-2]))
    low = int(beat)
    return float(beats[low] + (beat - low) * (beats[low + 1] - beats[low]))
