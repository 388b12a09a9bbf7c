"""Finding every pass of a target in a take: any key, order and tempo, with false starts.

Dynamic programming over gestures. Each gesture is outside every pass, or stands for chord j
of the target in key k: a new arrival, the chord struck again, or a stray note inside the
pass. The best path through the whole take is kept. A path earns the likeness of each
arrival less what is even, and pays for starting, for chords left out, for strays and for giving
up before the last chord, so that one bad voicing does not break a pass and a single
likeness in free playing does not make one. Time complexity: gestures x keys x chords.

A row that begins and is not finished is a false start. One chord alone counts as one only
directly before a longer row in its key. A first chord struck twice is a false start, too,
when the wait before going on is far longer than the pass's own pace.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

import numpy as np

from stackline.practice.finding.gestures import Gesture
from stackline.practice.finding.likeness import KEYS, likeness
from stackline.practice.finding.pass_records import Arrival, Pass
from stackline.practice.finding.plausible import covered, plausible
from stackline.practice.targets.targets import Target

PARTLY = 0.6  # of a take's full chords in rows: it may be practice of the target
SAME_KEYS = 0.20  # for arriving with the very keys just struck: rather struck again
LONE_NOTE = 0.20  # for arriving with one note: rather a stray
LEFT_OUT = 0.50  # for each chord passed over
UNFINISHED = 0.30
AGAIN = 0.10  # what a chord struck again just as meant earns
STRAY = {1: 0.05, 2: 0.15}  # by number of keys
STRAY_CHORD = 0.25
LONGEST_WAIT_S = 20.0
WAIT_PER_S = 0.01
NEARLY = 0.1  # a gesture about as like the next chord as this one belongs to the next
HALF = 0.5  # likeness from which a chord mended at once is the one that was meant
SURELY = 0.85  # likeness from which a chord outside every row was meant for the next row
AT_ONCE = 1.15  # of the time until the next chord: a first chord put right so soon is its row's
FAR_TOO_LONG = 1.6  # times the pass's own pace: the first chord was a false start


@dataclass(frozen=True)
class _Prices:
    """even: likeness at which an arrival neither earns nor costs. start: for each row.

    unchanged: for arriving with what was just struck, however like the chord: symbols leave so
    much open that one voicing may do for both chords.
    """

    even: float
    start: float
    unchanged: float


_STACKS = _Prices(0.55, 0.30, 0.0)
_SYMBOLS = _Prices(0.55, 0.30, 0.40)
_SYMBOLS_IN_PRACTICE = _Prices(0.42, 0.55, 0.40)  # in a take that is practice of the target
_OUT, _START, _ON, _OVER, _AGAIN, _STRAY = range(6)


def find_passes(gestures: Sequence[Gesture], target: Target) -> tuple[Pass, ...]:
    """Passes and false starts in order of time."""
    if not gestures:
        return ()
    like = likeness(gestures, target)
    rows = _rows(gestures, target, like, _STACKS if target.has_stacks else _SYMBOLS)
    if not target.has_stacks and covered(rows, gestures, like) >= PARTLY:
        rows = _rows(gestures, target, like, _SYMBOLS_IN_PRACTICE)
    return tuple(_without_strays(plausible(rows, gestures, like, target)))


def _rows(
    gestures: Sequence[Gesture], target: Target, like: np.ndarray, prices: _Prices
) -> list[Pass]:
    """The rows of the best path, each from where it was begun."""
    path = _Search(gestures, like, prices).path()
    rows: list[Pass] = []
    for steps in _runs(path):
        begun = _with_first_try(gestures, path, steps, like)
        rows += _false_firsts(gestures, path, begun[0], like)
        rows.append(_as_pass(gestures, _earliest(gestures, begun, like), len(target.chords)))
    usual = _usual_pace(rows, target)
    return [part for row in rows for part in _split_first(row, target, usual)]


@dataclass(frozen=True)
class _Step:
    """What one gesture is on the best path; how: one of the constants above."""

    gesture: int
    how: int
    key: int = 0
    chord: int = 0


class _Search:
    """The dynamic programme; see the module's text for its prices."""

    def __init__(self, gestures: Sequence[Gesture], like: np.ndarray, prices: _Prices) -> None:
        self.n, _, self.chords = like.shape
        plain = like - prices.even
        self.again = np.where(plain > 0, AGAIN * plain / (1 - prices.even), plain)
        self.stray = [STRAY.get(len(g.struck), STRAY_CHORD) for g in gestures]
        same = [False, *(a.struck == b.struck for a, b in pairwise(gestures))]
        lone = [len(gesture.struck) == 1 for gesture in gestures]
        dear = SAME_KEYS * np.array(same) + LONE_NOTE * np.array(lone)
        alike = [False, *(_same_chord(a, b) for a, b in pairwise(gestures))]
        unchanged = prices.unchanged * np.array(alike)
        self.earn = plain - np.where(like < SURELY, dear[:, None, None], unchanged[:, None, None])
        self.start = [prices.start + (SAME_KEYS if one else 0.0) for one in same]
        self.waits = [0.0, *(b.onset_s - a.onset_s for a, b in pairwise(gestures))]
        self.how = np.zeros((self.n, KEYS, self.chords), np.int8)
        self.closed_from = np.full((self.n + 1, 2), -1, np.int16)  # key, chord that ended here

    def path(self) -> list[_Step]:
        """The best path, gesture by gesture."""
        closed = np.zeros(self.n + 1)
        inside = np.full((KEYS, self.chords), -np.inf)
        ending = np.full(self.chords, UNFINISHED)
        ending[-1] = 0.0
        starting = LEFT_OUT * np.arange(self.chords)
        for g in range(self.n):
            inside = self._next(g, inside, closed[g] - self.start[g] - starting)
            value = inside - ending
            key, chord = np.unravel_index(int(value.argmax()), value.shape)
            closed[g + 1] = closed[g]
            if value[key, chord] > closed[g]:
                closed[g + 1] = value[key, chord]
                self.closed_from[g + 1] = (key, chord)
        return self._back()

    def _next(self, g: int, before: np.ndarray, fresh: np.ndarray) -> np.ndarray:
        earn, again = self.earn[g], self.again[g]
        wait = self.waits[g]
        cost = WAIT_PER_S * wait if wait <= LONGEST_WAIT_S else np.inf
        options = np.full((6, KEYS, self.chords), -np.inf)
        options[_START] = fresh[None, :] + earn
        options[_ON, :, 1:] = before[:, :-1] + earn[:, 1:] - cost
        options[_OVER, :, 2:] = before[:, :-2] + earn[:, 2:] - cost - LEFT_OUT
        options[_AGAIN] = before + again - cost
        options[_STRAY] = before - self.stray[g] - cost
        self.how[g] = options.argmax(axis=0)
        return options.max(axis=0)

    def _back(self) -> list[_Step]:
        steps: list[_Step] = []
        g = self.n
        while g > 0:
            key, chord = (int(one) for one in self.closed_from[g])
            if key < 0:
                g -= 1
                steps.append(_Step(g, _OUT))
                continue
            how = -1
            while how != _START:
                g -= 1
                how = int(self.how[g, key, chord])
                steps.append(_Step(g, how, key, chord))
                chord -= {_ON: 1, _OVER: 2}.get(how, 0)
        return steps[::-1]


def _same_chord(first: Gesture, second: Gesture) -> bool:
    """Whether the same keys were struck again, perhaps with others added or left out."""
    one, other = set(first.struck), set(second.struck)
    return one <= other or other <= one


def _runs(path: Sequence[_Step]) -> list[list[_Step]]:
    """The steps of each row, from its start on."""
    runs: list[list[_Step]] = []
    inside = False
    for step in path:
        if step.how == _START:
            runs.append([step])
        elif step.how != _OUT and inside:
            runs[-1].append(step)
        inside = step.how != _OUT
    return runs


def _with_first_try(
    gestures: Sequence[Gesture], path: Sequence[_Step], steps: list[_Step], like: np.ndarray
) -> list[_Step]:
    """A faulty first chord, mended at once, is where its row begins."""
    first = steps[0]
    g = first.gesture - 1
    following = next((step for step in steps[1:] if step.how in (_ON, _OVER)), None)
    if g < 0 or following is None or path[g].how != _OUT:
        return steps
    tried = gestures[first.gesture].onset_s - gestures[g].onset_s
    held = gestures[following.gesture].onset_s - gestures[first.gesture].onset_s
    full = len(gestures[g].struck) * 2 > len(gestures[first.gesture].struck)
    if tried > AT_ONCE * held or not full or like[g, first.key, first.chord] < HALF:
        return steps
    return [replace(first, gesture=g), replace(first, how=_AGAIN), *steps[1:]]


def _false_firsts(
    gestures: Sequence[Gesture], path: Sequence[_Step], start: _Step, like: np.ndarray
) -> list[Pass]:
    """First chords that were struck alone just before a row and then begun again."""
    found: list[Pass] = []
    for g in range(start.gesture - 1, -1, -1):
        waited = gestures[start.gesture].onset_s - gestures[g].onset_s
        alone = len(gestures[g].struck) == 1 and len(gestures[start.gesture].struck) > 1
        if path[g].how != _OUT or waited > LONGEST_WAIT_S:
            break
        if like[g, start.key, start.chord] >= SURELY and start.chord == 0:
            arrival = Arrival(chord=0, main=gestures[g])
            found.append(Pass(key=start.key, arrivals=(arrival,), finished=False))
        elif not alone:
            break
    return found[::-1]


def _earliest(gestures: Sequence[Gesture], steps: list[_Step], like: np.ndarray) -> list[_Step]:
    """Let each chord begin with the first full gesture that is more like it than the last one.

    The best path may take a chord's second, better form for its arrival; but what was
    played first is what was played.
    """
    moved = list(steps)
    for i in range(len(moved) - 1, 1, -1):
        here, before = moved[i], moved[i - 1]
        if here.how not in (_ON, _OVER) or before.how not in (_AGAIN, _STRAY):
            continue
        likes = like[before.gesture, here.key]
        if gestures[before.gesture].struck == gestures[moved[i - 2].gesture].struck:
            continue  # the chord before, struck again
        full = len(gestures[before.gesture].struck) * 2 > len(gestures[here.gesture].struck)
        if full and likes[here.chord] >= likes[before.chord] - NEARLY:
            moved[i - 1] = replace(here, gesture=before.gesture)
            moved[i] = replace(before, gesture=here.gesture, how=_AGAIN, chord=here.chord)
    return moved


def _as_pass(gestures: Sequence[Gesture], steps: Sequence[_Step], chords: int) -> Pass:
    arrivals: list[Arrival] = []
    for step in steps:
        gesture = gestures[step.gesture]
        if step.how in (_AGAIN, _STRAY):
            arrivals[-1] = replace(arrivals[-1], later=(*arrivals[-1].later, gesture))
        else:
            arrivals.append(Arrival(chord=step.chord, main=gesture))
    finished = arrivals[-1].chord == chords - 1
    return Pass(key=steps[0].key, arrivals=tuple(arrivals), finished=finished)


def _split_first(row: Pass, target: Target, usual: float | None) -> list[Pass]:
    """Cut off a first chord that was struck, waited on, and struck again."""
    first = row.arrivals[0]
    again = [one for one in first.later if len(one.struck) * 2 > len(first.main.struck)]
    own = _pace(row, target)
    pace = max(own or 0.0, usual or 0.0)  # comping may bring the next chord early
    if not again or not pace or len(row.arrivals) < 2:
        return [row]
    meant = pace * float(target.beats[first.chord])
    if row.arrivals[1].main.onset_s - first.main.onset_s <= FAR_TOO_LONG * meant:
        return [row]
    struck = [first.main, *again]
    main = max(pairwise(struck), key=lambda pair: pair[1].onset_s - pair[0].onset_s)[1]
    before = tuple(one for one in first.later if one.onset_s < main.onset_s)
    after = tuple(one for one in first.later if one.onset_s > main.onset_s)
    false = Pass(key=row.key, arrivals=(replace(first, later=before),), finished=False)
    begun = replace(first, main=main, later=after)
    return [false, replace(row, arrivals=(begun, *row.arrivals[1:]))]


def _pace(row: Pass, target: Target, *, skip: int = 1) -> float | None:
    """Seconds a beat between arrivals after the first `skip`; None where there are too few."""
    spans = [
        (b.main.onset_s - a.main.onset_s) / float(sum(target.beats[a.chord : b.chord]))
        for a, b in pairwise(row.arrivals[skip:])
    ]
    return median(spans) if spans else None


def _usual_pace(rows: Sequence[Pass], target: Target) -> float | None:
    """The pace of rows that went through at once, for rows of two chords with none of their own.

    Waits only ever make a row slower, so it is the lower quartile.
    """
    paces = sorted(pace for row in rows if (pace := _pace(row, target, skip=0)) is not None)
    return paces[len(paces) // 4] if len(paces) > 1 else None


def _without_strays(rows: Sequence[Pass]) -> list[Pass]:
    """Drop single chords that are no false start of the row after them."""
    kept: list[Pass] = []
    for i, row in enumerate(rows):
        following = rows[i + 1] if i + 1 < len(rows) else None
        alone = len(row.arrivals) == 1 and not row.finished
        restarts = following is not None and following.key == row.key
        if not alone or restarts:
            kept.append(row)
    return kept
