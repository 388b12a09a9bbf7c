"""The likeliest way through the bars of a take: a bar pointer.

A hidden Markov model (N. Whiteley, A. T. Cemgil, S. Godsill, ISMIR 2006; one length a beat as in
F. Krebs, S. Boeck, G. Widmer, ISMIR 2015): a state is a beat of the bar and its length; onsets of
every part come as a Poisson process whose rate depends on the place in the bar. The length may
change from beat to beat, a little often and more seldom; and the player may leave the time, where
onsets come at the take's own rate. Ways of playing (`listen.rhythms`) are followed side by side.
The best path is Viterbi's, reckoned beat by beat in blocks of frames no longer than the shortest
beat, so that none in a block depends on another.

Units: frames of 10 ms; scores are natural logarithms against onsets at random.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.time.rhythms import BINS, CLASSES, Way

FPS = 100
NEVER = np.float32(-1e9)
_FREE = 127

_STEADY, _BENT, _BENDS = 0.008, 0.045, 0.1
_REACH = 0.12
_LEAVES, _RETURNS = -6.0, -5.0
WEIGHT = 1.5


@dataclass(frozen=True, kw_only=True, eq=False)
class Onsets:
    """Of one part. time_s: (n,), rising; weight: (n,); kind: (n,), for attacks 0 to CLASSES - 1."""

    part: str
    time_s: np.ndarray
    weight: np.ndarray
    kind: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class Anchor:
    """A moment known to be a beat; number: 0 for the first of a bar, None for any."""

    time_s: float
    spread_s: float
    gain: float
    number: int | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Stretch:
    """Beats in time that follow each other: times in seconds, numbers from 0."""

    time_s: np.ndarray
    number: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class Path:
    """The likeliest path of one way of playing."""

    way: Way
    score: float
    stretches: list[Stretch]


def lengths_of(slowest: float, fastest: float, step: float = 0.025) -> np.ndarray:
    """Lengths of a beat in whole frames, no nearer than a step."""
    first, last = 60 * FPS / fastest, 60 * FPS / slowest
    return np.unique(np.rint(first * np.exp(np.arange(0, np.log(last / first) + step, step))).astype(int))


def follow(
    ways: Sequence[Way], lengths: np.ndarray, onsets: Sequence[Onsets], *,
    told: tuple[float, float] | None = None, anchors: Sequence[Anchor] = (), pull: float = 0.1,
    free: bool = True,
) -> list[Path]:
    """The likeliest path of each way (all of one meter)."""
    search = _Search(ways, lengths, onsets, told, anchors, pull, free)
    search.run()
    return [search.path(k) for k in range(len(ways))]


class _Search:
    """States: arrays (frames, lengths, ways * meter)."""

    def __init__(self, ways, lengths, onsets, told, anchors, pull, free) -> None:
        self.ways, self.lengths, self.meter = ways, lengths, ways[0].meter
        self.onsets = [one for one in onsets if len(one.time_s)]
        self.n_l, self.n_w = len(lengths), len(ways)
        self.longest = int(lengths.max())
        first_s = min(one.time_s[0] for one in self.onsets)
        last_s = max(one.time_s[-1] for one in self.onsets)
        self.start_s = first_s - (self.longest + 2) / FPS
        self.last = int(round((last_s - self.start_s) * FPS))
        self.n = self.last + self.longest + 2
        self.bpm = 60 * FPS / lengths
        self.enter = self._enter(told, pull)
        self.change = self._change()
        self.may_be_free = free
        self.returns = _RETURNS if free else -1e5
        self.leaves = _LEAVES if free else -1e5
        self.anchors = anchors
        self.templates = self._templates()

    def _change(self) -> list[tuple[int, np.ndarray]]:
        """For each shift of the index of the length, log chance to come from there: (n_l,)."""
        ratio = np.log(self.lengths[None, :] / self.lengths[:, None])  # [from, to]
        quantum = 0.5 / self.lengths
        cost = np.zeros_like(ratio)
        for share, spread in ((1 - _BENDS, _STEADY), (_BENDS, _BENT)):
            width = np.hypot(spread, 0.6 * quantum)[None, :]
            cost += share * np.exp(-0.5 * (ratio / width) ** 2) / width
        log = np.log(cost / cost.sum(axis=1, keepdims=True) + 1e-30)
        log[np.abs(ratio) > _REACH + 1.0 / self.lengths[None, :]] = NEVER
        most = max(abs(i - j) for i, j in np.argwhere(log > NEVER))
        taps = []
        for shift in range(-most, most + 1):
            at = np.arange(self.n_l) + shift
            inside = (at >= 0) & (at < self.n_l)
            values = np.full(self.n_l, NEVER, np.float32)
            values[inside] = log[at[inside], np.arange(self.n_l)[inside]]
            taps.append((shift, values))
        return taps

    def _enter(self, told, pull) -> np.ndarray:
        """What a beat of each length costs, with the onsets that are due in it: (n_l, n_w * meter)."""
        found = np.zeros((self.n_l, self.n_w, self.meter))
        self.first = np.zeros((self.n_l, self.n_w))
        span_s = max(1.0, sum(np.minimum(np.diff(self.onsets[0].time_s), 4.0)))
        per_s = {one.part: one.weight.sum() / span_s for one in self.onsets}
        attacks_s = per_s.get("piano", 0.0)
        for w, way in enumerate(self.ways):
            centre, spread = told or way.usual
            liking = -0.5 * (np.log(self.bpm / centre) / spread) ** 2
            if way.density and not told:
                usual, off = way.density
                liking = liking - 0.5 * (np.log(attacks_s * 60 / self.bpm / usual) / off) ** 2
            self.first[:, w] = np.maximum(liking, -60)
            found[:, w] += (pull * np.maximum(liking, -30) * self.lengths / FPS)[:, None]
            for one in self.onsets:
                logs = way.attacks.mean(axis=0) if one.part == "piano" else way.others[one.part]
                rate = np.exp(logs).reshape(self.n_l, self.meter, BINS).mean(axis=2)
                rate /= rate.mean(axis=1, keepdims=True)
                found[:, w] -= WEIGHT * (rate - 1) * (per_s[one.part] * self.lengths / FPS)[:, None]
        return found.reshape(self.n_l, -1).astype(np.float32)

    def _templates(self) -> dict[tuple[str, int], np.ndarray]:
        """Gain of each state from an onset so many frames before the end of its beat.

        (longest + 1, n_l, n_w * meter); 0 for onsets before the beat.
        """
        j = np.arange(self.longest + 1)[:, None]
        place = np.rint((self.lengths - j) / self.lengths * BINS).astype(int)
        inside = (j >= 1) & (j <= self.lengths)
        found = {}
        for one in self.onsets:
            for kind in np.unique(one.kind):
                logs = np.stack([way.attacks[kind] if one.part == "piano" else way.others[one.part] for way in self.ways], axis=1)
                logs = WEIGHT * logs  # (n_l, n_w, BINS * meter)
                total = BINS * self.meter
                table = np.zeros((self.longest + 1, self.n_l, self.n_w, self.meter), np.float32)
                for beat in range(self.meter):
                    table[..., beat] = logs[np.arange(self.n_l), :, (place + beat * BINS) % total]
                table[~inside] = 0
                found[one.part, int(kind)] = table.reshape(self.longest + 1, self.n_l, -1)
        return found

    def run(self) -> None:
        n, n_l, n_s = self.n, self.n_l, self.n_w * self.meter
        block = int(self.lengths.min())
        lead = self.longest
        depart = np.full((lead + n, n_l, n_s), NEVER, np.float32)
        self.tap = np.full((n, n_l, n_s), -1, np.int8)
        self.left = np.full((n, self.n_w), -1, np.int32)  # frame at which time was left last
        self.left_from = np.zeros((n, self.n_w), np.int32)
        free = np.zeros(self.n_w, np.float32)
        last_left = np.full(self.n_w, -1, np.int32)
        evidence = self._evidence()
        flat = depart.reshape(-1, n_s)
        self.ends = np.full((n_l, n_s), NEVER, np.float32)
        self.end_at = np.zeros((n_l, n_s), np.int32)
        enter_free = (self.first[:, :, None] - np.log(np.exp(self.first).sum(axis=0))[None, :, None] - np.log(self.meter) + np.zeros(self.meter)).reshape(n_l, -1).astype(np.float32)
        first_frame = self.longest + 2
        for t0 in range(0, n, block):
            t = np.arange(t0, min(n, t0 + block))
            rows = (t[:, None] - self.lengths + lead) * n_l + np.arange(n_l)
            score = flat[rows] + evidence[t]
            by_way = score.reshape(len(t), n_l, self.n_w, self.meter).transpose(0, 2, 1, 3).reshape(len(t), self.n_w, -1)
            arg = by_way.argmax(axis=2)
            leaving = np.take_along_axis(by_way, arg[..., None], axis=2)[..., 0] + self.leaves
            run_free = np.maximum.accumulate(np.vstack((free[None], leaving)), axis=0)
            came = leaving >= run_free[1:]
            came &= leaving > run_free[:-1]
            idx = np.where(came, t[:, None], -1)
            self.left[t] = np.maximum.accumulate(np.vstack((last_left[None], idx)), axis=0)[1:]
            self.left_from[t] = arg
            free, last_left = run_free[-1], self.left[t[-1]]
            # departures
            rolled = np.roll(score.reshape(len(t), n_l, self.n_w, self.meter), 1, axis=3).reshape(len(t), n_l, n_s)
            best = np.full(rolled.shape, NEVER, np.float32)
            tap = np.full(rolled.shape, -1, np.int8)
            for number, (shift, values) in enumerate(self.change):
                lo, hi = max(0, -shift), min(n_l, n_l - shift)
                option = rolled[:, lo + shift : hi + shift] + values[lo:hi, None]
                part = best[:, lo:hi]
                np.copyto(tap[:, lo:hi], number, where=option > part)
                np.maximum(part, option, out=part)
            back = np.where(t <= first_frame, 0.0, self.returns).astype(np.float32)
            returning = np.repeat(run_free[1:] + back[:, None], self.meter, axis=1)[:, None, :] + enter_free
            better = returning > best
            np.copyto(tap, _FREE, where=better)
            np.maximum(best, returning, out=best)
            depart[lead + t] = best + self.enter
            self.tap[t] = tap
            late = (t[:, None] > self.last) & (t[:, None] <= self.last + self.lengths)
            if late.any():
                masked = np.where(late[..., None], score, NEVER)
                top = masked.max(axis=0)
                at = t[masked.argmax(axis=0)]
                better = top > self.ends
                self.ends[better] = top[better]
                self.end_at[better] = at[better]
        self.free_end = free

    def _evidence(self) -> np.ndarray:
        found = np.zeros((self.n + self.longest + 2, self.n_l, self.n_w * self.meter), np.float32)
        for one in self.onsets:
            for time_s, weight, kind in zip(one.time_s, one.weight, one.kind, strict=True):
                at = int(round((time_s - self.start_s) * FPS))
                found[at : at + self.longest + 1] += np.float32(weight) * self.templates[one.part, int(kind)]
        for anchor in self.anchors:
            at = (anchor.time_s - self.start_s) * FPS
            frames = np.arange(len(found))
            gain = anchor.gain * np.exp(-0.5 * ((frames - at) / FPS / anchor.spread_s) ** 2)
            some = np.flatnonzero(gain > 0.01 * anchor.gain)
            beats = np.arange(self.n_w * self.meter) % self.meter
            # a beat that ends here: the next has the number
            good = np.ones(len(beats)) if anchor.number is None else (beats + 1) % self.meter == anchor.number
            found[some] += (gain[some, None, None] * good).astype(np.float32)
        return found

    def path(self, w: int) -> Path:
        part = slice(w * self.meter, (w + 1) * self.meter)
        ends = self.ends[:, part]
        l, b = np.unravel_index(int(ends.argmax()), ends.shape)
        score = float(ends[l, b])
        frame, in_time = int(self.end_at[l, w * self.meter + b]), True
        if self.may_be_free and self.free_end[w] > score:
            score, in_time = float(self.free_end[w]), False
            frame = self.n - 1
        stretches, found = [], []
        if in_time:
            found.append((frame, (int(b) + 1) % self.meter))
        while True:
            if in_time:
                frame -= int(self.lengths[l])
                found.append((frame, int(b)))
                tap = int(self.tap[frame, l, w * self.meter + b])
                if tap == _FREE:
                    stretches.append(found)
                    found, in_time = [], False
                else:
                    l, b = l + self.change[tap][0], (b - 1) % self.meter
            else:
                frame = int(self.left[frame, w])
                if frame < 0:
                    break
                l, b = divmod(int(self.left_from[frame, w]), self.meter)
                found, in_time = [(frame, (b + 1) % self.meter)], True
        done = [
            Stretch(time_s=np.array([self.start_s + f / FPS for f, _ in reversed(one)]), number=np.array([x for _, x in reversed(one)]))
            for one in reversed(stretches)
        ]
        return Path(way=self.ways[w], score=score, stretches=done)
