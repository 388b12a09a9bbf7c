"""Where each attack of a comping player stands in the bar, and how fast he plays there.

A hidden Markov model over attacks. The state of an attack is its place in the bar and the
tempo; from one attack to the next the place moves on by some twelfths of a beat, the tempo by
a little, and the places between must have gone by unstruck (`place_rates`). The time
between is that distance at that tempo, give or take a player's timing; how late each attack
was is remembered, so that a late one does not move the beat. An attack may be loose, on no
place at all. And the player may leave the time: such attacks come at random, at the take's
own rate, and time is taken up again at any place. The likeliest path (Viterbi) says all of this
at once: rubato is what no tempo explains better than chance.

After models of tempo and rhythm together: A. T. Cemgil and B. Kappen, "Monte Carlo methods
for tempo tracking and rhythm quantization", J. Artificial Intelligence Research 18, 2003
(memory). Units: seconds, beats a minute; scores are natural logarithms against attacks that
come at random.
"""

from dataclasses import dataclass

import numpy as np

from stackline.listen.time.bar_places import Strikes
from stackline.listen.time.usual_tempi import FASTEST_BPM, SAME_TEMPO, SLOWEST_BPM, log_prior
from stackline.listen.time.without_clicks.place_moves import (
    LONGEST_CHANGE,
    NEVER,
    OUT_OF_TIME,
    PERIODS_S,
    TEMPI,
    Ways,
    moved,
)
from stackline.listen.time.without_clicks.place_rates import OFF_BEATS, ON_THE_BEAT, TWELFTHS, rates
from stackline.listen.time.without_clicks.place_states import Front, Step, Trail

_TOLD_SPREAD = 0.02  # of the tempo round one that is given
_OUT_OF_THE_QUESTION = -60.0

_LEAVES, _RETURNS, _LOOSE = 1 / 50, 1 / 15, 0.03  # chance of each, per attack
_STARTS_FREE = 0.1
_LONGEST_WAIT_S = 4.0  # a longer one says no more
_BEAM, _LOOSE_BEAM = 12.0, 6.0  # how much less likely a tempo may be to be followed
_GIVEN_UP = 20.0  # and a manner
_ALL_ON_BEAT = 2.5  # by how much playing hardly ever off the beat must be likelier
_UNUSUAL = 1.5  # by how much another meter must be likelier than the usual one

_IN_TIME, _AFTER_LOOSE, _FROM_FREE = 1, 2, 3  # how an attack was reached


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What a path may be. meters: beats in a bar, the usual one first; manner: the only one of
    the manners of these meters (`place_rates`). told_bpm: the player's tempo, who then
    seldom leaves the time. not_bpm: a tempo to keep away from.
    """

    meters: tuple[int, ...]
    manner: int | None = None
    told_bpm: float | None = None
    not_bpm: float | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacePath:
    """The likeliest path; arrays of shape (n_attacks,).

    score: of the path, against attacks at random. manner: see `Asked`; meter: beats in a bar.
    tempo_lead: by how much it is likelier than the best path of another manner that ends in
    another tempo. beats: distance in beats from the downbeat that the attack's stretch is counted
    from; nan for an attack that has no place. stretch: the number of the stretch in time that
    the attack belongs to, -1 out of time. bpm: tempo there, nan where there is none. Loose
    attacks belong to a stretch and have no place.
    """

    score: float
    manner: int
    meter: int
    tempo_lead: float
    beats: np.ndarray
    stretch: np.ndarray
    bpm: np.ndarray


def place_attacks(strikes: Strikes, asked: Asked) -> tuple[PlacePath, ...]:
    """The likeliest path in each meter that is not out of the question, the likeliest first.

    strikes: one or more.
    """
    search = _Search(strikes, asked)
    for index in range(1, len(strikes.time_s)):
        search.advance(index)
    return tuple(sorted(search.paths(), key=lambda path: path.score, reverse=True))


class _Search:
    """Viterbi's search through the attacks of one take.

    The states are those of all manners (meters and off-beats) side by side; a manner that has
    become far less likely than the best is given up.
    """

    def __init__(self, strikes: Strikes, asked: Asked) -> None:
        self._time_s = strikes.time_s
        self._new = strikes.new
        self._table = self._rates = rates(asked.meters)
        self._places = np.arange(len(self._table.at))  # those still followed
        self._manners = np.unique(self._table.manner)
        if asked.manner is not None:
            self._follow(np.array([asked.manner]))
        waits = np.minimum(np.diff(self._time_s), _LONGEST_WAIT_S)
        self._per_s = max(len(waits), 1) / max(float(waits.sum()), 1.0)
        self._allowed = np.ones(len(TEMPI), bool)
        if asked.not_bpm:
            self._allowed = np.abs(np.log(TEMPI / asked.not_bpm)) >= SAME_TEMPO
        self._leaves = _LEAVES / 10 if asked.told_bpm else _LEAVES
        self._trails: list[Trail] = []
        self._fronts = [self._first(asked)]

    def _first(self, asked: Asked) -> Front:
        prior = self._prior(asked)
        unusual = np.where(self._rates.meter == asked.meters[0], 0.0, _UNUSUAL)
        unusual += np.where(self._rates.manner % len(OFF_BEATS) == ON_THE_BEAT, _ALL_ON_BEAT, 0.0)
        score = (np.log(self._shares(0) + 1e-12) - unusual)[:, None] + prior
        first = [int(np.argmax(self._rates.manner == one)) for one in self._manners]
        free = prior + np.log(_STARTS_FREE) - unusual[first][:, None]
        return Front(
            score=(score + np.log1p(-_STARTS_FREE)).astype(np.float32),
            late_s=np.zeros(score.shape, np.float32),
            free=free.astype(np.float32),
        )

    def _prior(self, asked: Asked) -> np.ndarray:
        """Log chance of each tempo before anything is heard."""
        if asked.told_bpm:
            found = -0.5 * (np.log(TEMPI / asked.told_bpm) / _TOLD_SPREAD) ** 2
        else:
            found = log_prior(TEMPI, self._per_s * PERIODS_S)
            usual = (TEMPI >= SLOWEST_BPM) & (TEMPI <= FASTEST_BPM)
            found = np.where(usual, found, _OUT_OF_THE_QUESTION)
        found = np.where(self._allowed, found, _OUT_OF_THE_QUESTION)
        return np.asarray(found - np.log(np.exp(found).sum()))

    def _shares(self, index: int) -> np.ndarray:
        """Shares of an attack as new as this one, (n_places,)."""
        new = float(self._new[index])
        found: np.ndarray = new * self._rates.new + (1 - new) * self._rates.again
        return found

    def _in_a_bar(self, columns: np.ndarray) -> np.ndarray:
        """Attacks in a bar, (n_places, n_columns)."""
        in_a_beat = (self._per_s * PERIODS_S[columns]).astype(np.float32)
        found: np.ndarray = in_a_beat * self._rates.meter.astype(np.float32)[:, None]
        return found

    def _at_random(self, wait_s: float) -> float:
        """Log density of an attack that comes at random after a wait."""
        return float(np.log(self._per_s)) - self._per_s * min(wait_s, _LONGEST_WAIT_S)

    def advance(self, index: int) -> None:
        """The states of attack `index`, from those of the two before it."""
        step = Step(len(self._places))
        self._go_on(step, index, self._fronts[-1], _IN_TIME)
        if len(self._fronts) > 1:
            self._go_on(step, index, self._fronts[-2], _AFTER_LOOSE)
        before = self._fronts[-1]
        at_random = self._at_random(float(self._time_s[index] - self._time_s[index - 1]))
        self._return(step, index, before.free, at_random)
        starts = np.searchsorted(self._rates.manner, self._manners)
        leaving = np.maximum.reduceat(before.score, starts, axis=0)
        leaving = leaving + np.float32(np.log(self._leaves) + at_random)
        if self._trails:  # only states that are kept can be traced back to
            leaving[:, np.delete(np.arange(len(TEMPI)), self._trails[-1].columns)] = NEVER
        staying = before.free + np.float32(np.log1p(-_RETURNS) + at_random)
        front = Front(
            score=step.score + np.float32(np.log1p(-self._leaves)),
            late_s=step.late_s,
            free=np.maximum(leaving, staying),
        )
        self._keep(step, front, leaving > staying, starts)
        self._fronts = [self._fronts[-1], front]
        self._give_up()

    def _keep(self, step: Step, front: Front, left: np.ndarray, starts: np.ndarray) -> None:
        """The trail back from an attack."""
        columns = np.flatnonzero(front.score.max(axis=0) > front.best() - 2 * _BEAM)
        before = np.split(self._fronts[-1].score, starts[1:])
        left_from = [
            start + part.argmax(axis=0) for start, part in zip(starts, before, strict=True)
        ]
        self._trails.append(
            Trail(
                places=self._places,
                columns=columns,
                how=step.how[:, columns],
                place=self._places[step.place[:, columns]].astype(np.uint8),
                tempo=step.tempo[:, columns].astype(np.uint8),
                twelfths=step.twelfths[:, columns],
                manners=self._manners,
                left=left,
                left_from=self._places[np.array(left_from)].astype(np.uint8),
            )
        )

    def _give_up(self) -> None:
        """Follow only manners that may still be the best."""
        front = self._fronts[-1]
        starts = np.searchsorted(self._rates.manner, self._manners)
        each = np.maximum(np.maximum.reduceat(front.score.max(axis=1), starts),
                          front.free.max(axis=1))  # fmt: skip
        kept = np.flatnonzero(each > front.best() - _GIVEN_UP)
        if len(kept) < len(self._manners):
            places = self._follow(self._manners[kept])
            self._fronts = [one.only(places, kept) for one in self._fronts]

    def _follow(self, manners: np.ndarray) -> np.ndarray:
        """Only some manners; returns which of the places these are."""
        self._rates, places = self._rates.only(manners)
        self._places, self._manners = self._places[places], manners
        return places

    def _go_on(self, step: Step, index: int, before: Front, how: int) -> None:
        """In time from an attack before: the next one, or the one after a loose one."""
        beam = _BEAM if how == _IN_TIME else _LOOSE_BEAM
        live = before.score.max(axis=0) > before.best() - beam
        reach = LONGEST_CHANGE if how == _IN_TIME else 2
        near = np.convolve(live, np.ones(2 * reach + 1), "same") > 0
        columns = np.flatnonzero(near & self._allowed)
        wait_s = float(self._time_s[index] - self._time_s[index - how])
        ways = Ways.of(wait_s, columns)
        if ways is None:
            return
        n_places, n_columns = len(self._places), len(columns)
        shifted = [moved(before.score, kind, columns) for kind in ways.kinds]
        scores, tempi = (np.array(part) for part in zip(*shifted, strict=True))
        source = self._rates.before[:, ways.twelfths]  # (n_places, n_columns, n_ways)
        flat = (ways.kind * n_places + source) * n_columns + ways.column
        came = tempi.ravel()[flat]
        early_s = ways.off_s + before.late_s[source, came]
        in_a_bar = self._in_a_bar(columns)
        due = in_a_bar[:, :, None] * self._rates.passed[:, ways.twelfths]
        found = scores.ravel()[flat] + ways.log_density(early_s) - due
        found[(source < 0) | ~ways.allowed] = NEVER
        if how == _AFTER_LOOSE:
            found += np.float32(np.log(_LOOSE * self._per_s))
        chosen = found.argmax(axis=2)[:, :, None]

        def of(values: np.ndarray) -> np.ndarray:
            return np.take_along_axis(values, chosen, axis=2)[:, :, 0]

        struck = -np.expm1(-in_a_bar * self._shares(index).astype(np.float32)[:, None])
        step.take(
            columns,
            of(found) + np.log(struck + np.float32(1e-12)),
            late_s=ways.lateness * of(early_s),
            how=how,
            place=of(source),
            tempo=of(came),
            twelfths=ways.twelfths[np.arange(n_columns), chosen[:, :, 0]],
        )

    def _return(self, step: Step, index: int, free: np.ndarray, at_random: float) -> None:
        """From out of time back into it, at any place."""
        returning = np.log(_RETURNS) + at_random
        live = free.max(axis=0) + returning > step.score.max() - _BEAM
        columns = np.flatnonzero(live & self._allowed)
        if not len(columns):
            return
        score, tempo = moved(free, OUT_OF_TIME, columns)
        manner = np.searchsorted(self._manners, self._rates.manner)
        places = np.log(self._shares(index) + 1e-12) + returning
        score = score[manner] + places[:, None].astype(np.float32)
        step.take(
            columns, score, late_s=0, how=_FROM_FREE, place=0, tempo=tempo[manner], twelfths=0
        )

    def paths(self) -> list[PlacePath]:
        """The likeliest path of each meter that is still followed."""
        found = []
        for meter in np.unique(self._rates.meter):
            manners = np.unique(self._rates.manner[self._rates.meter == meter])
            scores = [self._end(int(one)).best() for one in manners]
            found.append(self._traced(int(manners[np.argmax(scores)])))
        return found

    def _end(self, manner: int) -> Front:
        """The last front, of one manner alone."""
        places = np.flatnonzero(self._rates.manner == manner)
        return self._fronts[-1].only(places, np.flatnonzero(self._manners == manner))

    def _traced(self, manner: int) -> PlacePath:
        """The path back from the likeliest last state of a manner."""
        count = len(self._time_s)
        twelfths, bpm = np.full(count, np.nan), np.full(count, np.nan)
        went, stretch = np.zeros(count), np.full(count, -1)
        front, number = self._end(manner), 0
        in_time = bool(front.score.max() >= front.free.max())
        row, tempo = _where(front.score if in_time else front.free)
        place = int(self._places[self._rates.manner == manner][row]) if in_time else 0
        index = count - 1
        while index >= 0:
            trail = self._trails[index - 1] if index else None
            if in_time:
                stretch[index], bpm[index] = number, TEMPI[tempo]
                twelfths[index] = self._table.at[place]
                if trail is None:
                    break
                at = np.searchsorted(trail.places, place), np.searchsorted(trail.columns, tempo)
                how, went[index] = int(trail.how[at]), trail.twelfths[at]
                in_time, place, tempo = (
                    how != _FROM_FREE,
                    int(trail.place[at]),
                    int(trail.tempo[at]),
                )
                if how == _AFTER_LOOSE:
                    stretch[index - 1] = number
                    index -= 1
                number += how == _FROM_FREE
            elif trail is not None:
                at = np.searchsorted(trail.manners, manner), np.intp(tempo)
                in_time, place = bool(trail.left[at]), int(trail.left_from[at])
            index -= 1
        waits = np.diff(self._time_s)
        return PlacePath(
            meter=int(self._table.meter[self._table.manner == manner][0]),
            score=front.best() - sum(self._at_random(float(wait_s)) for wait_s in waits),
            manner=manner,
            tempo_lead=self._tempo_lead(manner),
            beats=_counted(twelfths, went, stretch) / TWELFTHS,
            stretch=np.where(stretch >= 0, stretch.max(initial=0) - stretch, -1),
            bpm=bpm,
        )

    def _tempo_lead(self, manner: int) -> float:
        """See `PlacePath`; endless where no other is left."""
        ends = {int(one): self._end(int(one)) for one in self._manners}
        bpm = {one: float(TEMPI[_where(end.score)[1]]) for one, end in ends.items()}
        others = [
            float(end.score.max())
            for one, end in ends.items()
            if abs(np.log(bpm[one] / bpm[manner])) > SAME_TEMPO
        ]
        return ends[manner].best() - max(others, default=-np.inf)


def _where(scores: np.ndarray) -> tuple[int, int]:
    """Row and column of the best."""
    row, column = np.unravel_index(int(scores.argmax()), scores.shape)
    return int(row), int(column)


def _counted(places: np.ndarray, went: np.ndarray, stretch: np.ndarray) -> np.ndarray:
    """Twelfths counted on through each stretch, from places in the bar and moves between them."""
    found = np.full(len(places), np.nan)
    before, at = -1, 0.0
    for index in np.flatnonzero(~np.isnan(places)):
        goes_on = stretch[index] == before and went[index] > 0
        at = at + went[index] if goes_on else places[index]
        found[index], before = at, stretch[index]
    return found
