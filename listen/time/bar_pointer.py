"""The likeliest way through the bars of a take: a bar pointer.

A hidden Markov model (N. Whiteley, A. T. Cemgil, S. Godsill, ISMIR 2006; one length a beat as in
F. Krebs, S. Boeck, G. Widmer, ISMIR 2015; memory): a state is a beat of the bar and its length;
onsets of each part are a Poisson process whose rate depends on the place in the bar. The length
changes from beat to beat, by little or seldom by more. A comping player may leave the time, where
onsets come at the take's own rate. Ways of playing (`listen.time.rhythms`) are followed side by
side. The best path is Viterbi's, reckoned in blocks of frames no longer than the shortest beat,
so that no frame of a block depends on another. After each piece of a take only the lengths and
ways that may still be the best are followed, which bounds time and memory.

Units: frames of 10 ms; scores are natural logarithms against onsets that come at random.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.time.rhythms import BINS, EVIDENCE, Way

FPS = 100  # frames a second
NEVER = np.float32(-1e9)
LONGEST_WAIT_S = 4.0  # a longer one says no more

_STEP = 0.025  # between neighbouring lengths, relative
_STEADY, _BENT, _BENDS = 0.008, 0.035, 0.1  # change of a beat's length; how often bent
_REACH = 0.12  # largest change
_LEAVES, _RETURNS = -5.0, -5.0  # log chance of leaving the time and of taking it up
_PULL, _SPARSE_PULL = 0.3, 0.5  # weight of usual tempi, per second; where attacks are sparse
_UNLIKELY, _MOST_UNUSUAL = -30.0, 3.0  # limits of what is usual: of all, of attacks a beat
_PIECE = 2000  # frames
_BEAM, _MARGIN, _GIVEN_UP = 45.0, 4, 60.0  # lengths followed, those beside them; ways
_FREE = 127  # in place of a change: from out of time


@dataclass(frozen=True, kw_only=True, eq=False)
class Onsets:
    """Those of one part, arrays (n,). kind: the row of the part's rates."""

    part: str
    time_s: np.ndarray
    weight: np.ndarray
    kind: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Anchor:
    """A moment that is a beat, give or take. number: in the bar from 0; None for any."""

    time_s: float
    spread_s: float
    gain: float
    number: int | None = None


@dataclass(frozen=True, kw_only=True)
class Told:
    """What holds whatever is heard. bpm: a tempo; spread: of it (log)."""

    bpm: float | None = None
    spread: float = 0.04
    anchors: tuple[Anchor, ...] = ()
    never_free: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class Stretch:
    """Beats that follow each other: time_s (n,), and the number of the first in the bar, from 0."""

    time_s: np.ndarray
    start: int


@dataclass(frozen=True, kw_only=True, eq=False)
class Path:
    """The best path of a way of playing, its stretches in time in order."""

    way: str
    meter: int
    score: float
    stretches: tuple[Stretch, ...]


def lengths_between(slowest_bpm: float, fastest_bpm: float, step: float = _STEP) -> np.ndarray:
    """Lengths of a beat in whole frames, rising: (n_tempi,)."""
    first, last = 60 * FPS / fastest_bpm, 60 * FPS / slowest_bpm
    lengths = first * np.exp(np.arange(0, np.log(last / first) + step, step))
    return np.unique(np.rint(lengths).astype(int))


def follow(
    ways: Sequence[Way], lengths: np.ndarray, onsets: Sequence[Onsets], told: Told
) -> list[Path]:
    """The best paths of some ways of one meter, but for those that were given up.

    ways: rates at the tempi of `lengths`, beats in frames, (n_tempi,). onsets: attacks first, one
    or more.
    """
    search = _Search(ways, lengths, [one for one in onsets if len(one.time_s)], told)
    for first in range(0, search.n_frames, _PIECE):
        search.advance(first, min(first + _PIECE, search.n_frames))
        search.give_up()
    return [search.path(row) for row in range(len(search.followed))]


def per_second(times_s: np.ndarray) -> float:
    """Onsets a second, long rests left out. times_s: (n_onsets,)."""
    waits = np.minimum(np.diff(times_s), LONGEST_WAIT_S)
    return len(times_s) / max(1.0, float(waits.sum()))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Piece:
    """Where the states of some frames came from.

    first: frame; low: index of the first length; ways: (n_ways,), their numbers. change:
    (n_frames, n_lengths, n_ways, meter), by how many lengths, or _FREE. left, left_from:
    (n_frames, n_ways): frame where the time was left last, -1 for never; the state there.
    """

    first: int
    low: int
    ways: np.ndarray
    change: np.ndarray
    left: np.ndarray
    left_from: np.ndarray


class _Search:
    """States are arrays (frames, lengths, ways, meter), of what is followed."""

    def __init__(
        self, ways: Sequence[Way], lengths: np.ndarray, onsets: Sequence[Onsets], told: Told
    ) -> None:
        self.ways, self.lengths, self.meter, self.told = ways, lengths, ways[0].meter, told
        self.onsets, self.followed, self.low = onsets, np.arange(len(ways)), 0
        self.every = lengths
        begins = [float(one.time_s[0]) for one in onsets] + [one.time_s for one in told.anchors]
        self.longest = int(lengths.max())
        self.start_s = min(begins) - (self.longest + 2) / FPS
        self.last = self._frame(max(float(one.time_s[-1]) for one in onsets))
        self.n_frames = self.last + self.longest + 2
        self.changes = _changes(lengths)
        self.enter, self.first = self._entering()
        self.templates = self._templates()
        never = np.where([way.may_be_free and not told.never_free for way in ways], 0.0, NEVER)
        self.never = never.astype(np.float32)
        shape = (self.longest, len(lengths), len(ways), self.meter)
        self.before = np.full(shape, NEVER, np.float32)  # of the last frames: departures
        self.pending = np.zeros(shape, np.float32)  # evidence from onsets that were
        self.free = np.zeros(len(ways), np.float32)
        self.left = np.full(len(ways), -1)
        self.ends = np.full(shape[1:], NEVER, np.float32)
        self.end_at = np.zeros(shape[1:], int)
        self.pieces: list[_Piece] = []

    def _frame(self, time_s: float) -> int:
        return round((time_s - self.start_s) * FPS)

    def _entering(self) -> tuple[np.ndarray, np.ndarray]:
        """What each beat costs: usual tempi, and the onsets that are due; and a first beat."""
        bpm = 60 * FPS / self.lengths
        attacks = per_second(self.onsets[0].time_s)
        shape = (len(self.lengths), len(self.ways))
        liking, due = np.zeros(shape), np.zeros((*shape, self.meter))
        for row, way in enumerate(self.ways):
            usual, spread = (self.told.bpm, self.told.spread) if self.told.bpm else way.usual_bpm
            liking[:, row] = -0.5 * (np.log(bpm / usual) / spread) ** 2
            if not self.told.bpm:
                per_beat, spread = way.per_beat
                off = np.log(attacks * 60 / bpm / per_beat) / spread
                liking[:, row] -= np.minimum(0.5 * off**2, _MOST_UNUSUAL)
            for one in self.onsets:
                rate = np.exp(way.rates[one.part].mean(axis=0))
                rate = rate.reshape(-1, self.meter, BINS).mean(axis=2)
                rate = rate / rate.mean(axis=1, keepdims=True) - 1
                weight_s = float(one.weight.mean()) * per_second(one.time_s)
                due[:, row] += EVIDENCE * rate * (weight_s * self.lengths / FPS)[:, None]
        liking = np.maximum(liking, _UNLIKELY)
        first = liking - np.log(np.exp(liking).sum(axis=0)) - np.log(self.meter)
        pulls = np.array([_SPARSE_PULL if way.may_be_free else _PULL for way in self.ways])
        pull = pulls * liking * self.lengths[:, None] / FPS
        return (pull[..., None] - due).astype(np.float32), first.astype(np.float32)

    def _templates(self) -> dict[tuple[str, int], np.ndarray]:
        """What an onset adds to each beat that ends so many frames after it: (longest + 1, ...)."""
        after = np.arange(self.longest + 1)[:, None]
        place = np.rint((self.lengths - after) / self.lengths * BINS).astype(int)
        outside = (after < 1) | (after > self.lengths)
        rows, found = np.arange(len(self.lengths)), {}
        for one in self.onsets:
            for kind in np.unique(one.kind).tolist():
                logs = np.stack([EVIDENCE * way.rates[one.part][kind] for way in self.ways], axis=1)
                beats = [
                    logs[rows, :, (place + beat * BINS) % (BINS * self.meter)]
                    for beat in range(self.meter)
                ]
                table = np.stack(beats, axis=3).astype(np.float32)
                table[outside] = 0
                found[one.part, kind] = table
        return found

    def _evidence(self, first: int, after: int) -> np.ndarray:
        """For beats that end at frames from `first` to before `after`."""
        shape = (after - first + self.longest + 1, *self.pending.shape[1:])
        found = np.zeros(shape, np.float32)
        found[: self.longest] = self.pending
        for one in self.onsets:
            frames = np.rint((one.time_s - self.start_s) * FPS).astype(int)
            inside = slice(*np.searchsorted(frames, (first, after)))
            for frame, weight, kind in zip(
                frames[inside], one.weight[inside], one.kind[inside], strict=True
            ):
                at = frame - first
                template = self.templates[one.part, int(kind)]
                found[at : at + self.longest + 1] += np.float32(weight) * template
        self.pending = found[after - first : after - first + self.longest]
        return found

    def _known(self, first: int, after: int) -> np.ndarray:
        """What is gained by a beat that begins where one is known: (frames, 1, 1, meter)."""
        time_s = self.start_s + np.arange(first, after) / FPS
        found = np.zeros((after - first, 1, 1, self.meter), np.float32)
        for one in self.told.anchors:
            gain = one.gain * np.exp(-0.5 * ((time_s - one.time_s) / one.spread_s) ** 2)
            beats = slice(None) if one.number is None else slice(one.number, one.number + 1)
            found[:, 0, 0, beats] += gain[:, None]
        return found

    def advance(self, first: int, after: int) -> None:
        """Follow all states through some frames."""
        evidence, known = self._evidence(first, after), self._known(first, after)
        shape = (after - first, *self.pending.shape[1:])
        depart = np.concatenate((self.before, np.empty(shape, np.float32)))
        change = np.empty(shape, np.int8)
        left = np.empty((shape[0], shape[2]), np.int32)
        left_from = np.empty_like(left)
        rows, block = np.arange(shape[1]), int(self.lengths.min())
        for start in range(0, shape[0], block):
            at = np.arange(start, min(start + block, shape[0]))
            score = depart[self.longest + at[:, None] - self.lengths, rows] + evidence[at]
            free, left[at], left_from[at] = self._leave(score, first + at)
            departs, change[at] = self._go_on(score, free, first + at)
            depart[self.longest + at] = departs + self.enter + known[at]
            self._end(score, first + at)
        self.before = depart[-self.longest :]
        piece = _Piece(
            first=first, low=self.low, ways=self.followed,
            change=change, left=left, left_from=left_from,
        )  # fmt: skip
        self.pieces.append(piece)

    def _leave(
        self, score: np.ndarray, frames: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Scores out of time, (frames, ways), and since when and from which state."""
        each = score.transpose(0, 2, 1, 3).reshape(len(frames), len(self.followed), -1)
        state = each.argmax(axis=2)
        leaving = each.max(axis=2) + np.float32(_LEAVES) + self.never
        every = np.maximum.accumulate(np.vstack((self.free, leaving)))
        came = np.where(leaving > every[:-1], frames[:, None], -1)
        since = np.maximum.accumulate(np.vstack((self.left, came)))[1:]
        self.free, self.left = every[-1], since[-1]
        return every[1:], since, state

    def _go_on(
        self, score: np.ndarray, free: np.ndarray, frames: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """The best scores to begin a beat with, and by which change of length."""
        ended = np.roll(score, 1, axis=3)
        best = np.full(score.shape, NEVER, np.float32)
        change = np.zeros(score.shape, np.int8)
        for shift, chance in self.changes.items():
            low, high = max(0, -shift), min(score.shape[1], score.shape[1] - shift)
            if low >= high:
                continue
            option = ended[:, low + shift : high + shift] + chance[low:high, None, None]
            part = best[:, low:high]
            np.copyto(change[:, low:high], shift, where=option > part)
            np.maximum(part, option, out=part)
        is_start = (frames <= self.longest + 2)[:, None]
        returns = free + np.where(is_start, np.float32(0), _RETURNS + self.never)
        option = (returns[:, None] + self.first)[..., None]
        np.copyto(change, _FREE, where=option > best)
        return np.maximum(best, option), change

    def _end(self, score: np.ndarray, frames: np.ndarray) -> None:
        """Keep the best beats that end after the last onset and begin before it."""
        late = (frames[:, None] > self.last) & (frames[:, None] <= self.last + self.lengths)
        if late.any():
            some = np.where(late[..., None, None], score, NEVER)
            best = some.max(axis=0)
            self.end_at = np.where(best > self.ends, frames[some.argmax(axis=0)], self.end_at)
            self.ends = np.maximum(best, self.ends)

    def give_up(self) -> None:
        """Follow only lengths and ways that may still be the best."""
        each = self.before.max(axis=(0, 3))  # (lengths, ways)
        by_way = np.maximum(each.max(axis=0), self.free)
        kept = by_way > by_way.max() - _GIVEN_UP
        kept |= [not way.may_be_free for way in self.ways]  # these are compared otherwise
        live = np.flatnonzero((each > each.max(axis=0) - _BEAM)[:, kept].any(axis=1))
        if self.free[kept].max() > each[:, kept].max():  # time may be taken up at any tempo
            live = np.arange(len(self.lengths))
        low, high = max(0, live[0] - _MARGIN), min(len(self.lengths), live[-1] + 1 + _MARGIN)
        self.low, self.lengths = self.low + low, self.lengths[low:high]
        self.followed, self.ways = (
            self.followed[kept],
            [w for w, k in zip(self.ways, kept, strict=True) if k],
        )
        self.never, self.free, self.left = self.never[kept], self.free[kept], self.left[kept]
        for name in ("before", "pending"):
            setattr(self, name, getattr(self, name)[:, low:high, kept])
        for name in ("enter", "first", "ends", "end_at"):
            setattr(self, name, getattr(self, name)[low:high, kept])
        self.templates = {key: one[:, low:high, kept] for key, one in self.templates.items()}
        self.changes = {shift: chance[low:high] for shift, chance in self.changes.items()}

    def path(self, row: int) -> Path:
        """The path back from the best end of a way."""
        way = self.ways[row]
        best = self.ends[:, row]
        length, beat = np.unravel_index(int(best.argmax()), best.shape)
        frame, score = int(self.end_at[length, row, beat]), float(best.max())
        is_free = bool(self.free[row] + self.never[row] > score)
        back = self._walk(
            int(self.followed[row]), frame, self.low + int(length), int(beat), is_free
        )
        return Path(
            way=way.name,
            meter=self.meter,
            score=float(self.free[row]) if is_free else score,
            stretches=tuple(back),
        )

    def _walk(self, way: int, frame: int, length: int, beat: int, is_free: bool) -> list[Stretch]:
        found: list[Stretch] = []
        if is_free:
            frame = self.n_frames - 1
        while True:
            if is_free:
                piece, row = self._at(frame, way)
                since = int(piece.left[frame - piece.first, row])
                if since < 0:
                    return found[::-1]
                piece, row = self._at(since, way)
                state = int(piece.left_from[since - piece.first, row])
                frame, (length, beat) = since, divmod(state, self.meter)
                length += piece.low
            frames = [frame]
            while True:
                frame -= int(self.every[length])
                frames.append(frame)
                piece, row = self._at(frame, way)
                change = int(piece.change[frame - piece.first, length - piece.low, row, beat])
                if change == _FREE:
                    break
                length, beat = length + change, (beat - 1) % self.meter
            time_s = self.start_s + np.array(frames[::-1]) / FPS
            found.append(Stretch(time_s=time_s, start=beat))
            is_free = True

    def _at(self, frame: int, way: int) -> tuple[_Piece, int]:
        piece = self.pieces[frame // _PIECE]
        return piece, int(np.searchsorted(piece.ways, way))


def _changes(lengths: np.ndarray) -> dict[int, np.ndarray]:
    """Log chance to come to each length from the one so many places further: (n_lengths,)."""
    ratio = np.log(lengths[None] / lengths[:, None])  # from, to
    chance = np.zeros(ratio.shape)
    for share, spread in ((1 - _BENDS, _STEADY), (_BENDS, _BENT)):
        width = np.hypot(spread, 0.3 / lengths)  # lengths are whole frames
        chance += share * np.exp(-0.5 * (ratio / width) ** 2) / width
    log = np.log(chance / chance.sum(axis=1, keepdims=True) + 1e-30)
    log[np.abs(ratio) > _REACH + 1 / lengths] = NEVER
    index = np.arange(len(lengths))
    most = int(np.max(np.abs(np.subtract(*np.nonzero(log > NEVER)))))
    found = {}
    for shift in range(-most, most + 1):
        origin = np.clip(index + shift, 0, len(lengths) - 1)
        is_one = origin == index + shift
        found[shift] = np.where(is_one, log[origin, index], NEVER).astype(np.float32)
    return found
