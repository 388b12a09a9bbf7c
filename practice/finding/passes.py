"""Finding every pass of a target in a take: any key, order and tempo, with false starts.

`row_search` says which gestures stand for which chords of which rows; here the rows become
passes, each from where it was begun.

A row that begins and is not finished is a false start. One chord alone counts as one only
directly before a longer row in its key. A first chord struck twice is a false start, too,
when the wait before going on is far longer than the pass's own pace.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median

import numpy as np

from stackline.practice.finding.gestures import Gesture
from stackline.practice.finding.likeness import likeness
from stackline.practice.finding.pass_records import Arrival, Pass
from stackline.practice.finding.plausible import explained, is_practice, plausible
from stackline.practice.finding.row_search import (
    LONGEST_WAIT_S,
    STACKS,
    SURELY,
    SYMBOLS,
    SYMBOLS_IN_PRACTICE,
    How,
    Prices,
    Step,
    best_rows,
    same_chord,
)
from stackline.practice.targets.targets import Target

PARTLY = 0.5  # of a take's full chords in rows: it may be practice of the target
NEARLY = 0.1  # a gesture about as like the next chord as this one belongs to the next
HALF = 0.5  # likeness from which a chord mended at once is the one that was meant
AT_ONCE = 1.15  # of the time until the next chord: a first chord put right so soon is its row's
WAITED = 0.9  # of the chord's length between two strikes: a false start, not comping
FAR_TOO_LONG = 1.6  # times the pass's own pace: the first chord was a false start


def find_passes(gestures: Sequence[Gesture], target: Target) -> tuple[Pass, ...]:
    """Passes and false starts in order of time."""
    if not gestures:
        return ()
    like = likeness(gestures, target)
    rows = _rows(gestures, target, like, STACKS if target.has_stacks else SYMBOLS)
    if not target.has_stacks and explained(rows, gestures, like) >= PARTLY:
        practised = _rows(gestures, target, like, SYMBOLS_IN_PRACTICE)
        if is_practice(practised, gestures, like, target):
            rows = practised
    return tuple(_without_strays(plausible(rows, gestures, like, target)))


def _rows(
    gestures: Sequence[Gesture], target: Target, like: np.ndarray, prices: Prices
) -> list[Pass]:
    """The rows of the best path, each from where it was begun."""
    path = best_rows(gestures, like, prices)
    rows: list[Pass] = []
    for steps in _runs(path):
        begun = _with_first_try(gestures, path, steps, like)
        rows += _false_firsts(gestures, path, begun[0], like)
        rows.append(_as_pass(gestures, _earliest(gestures, begun, like), len(target.chords)))
    usual = _usual_pace(rows, target)
    return [part for row in rows for part in _split_first(row, target, usual)]


def _runs(path: Sequence[Step]) -> list[list[Step]]:
    """The steps of each row, from its start on."""
    runs: list[list[Step]] = []
    inside = False
    for step in path:
        if step.how == How.START:
            runs.append([step])
        elif step.how != How.OUT and inside:
            runs[-1].append(step)
        inside = step.how != How.OUT
    return runs


def _with_first_try(
    gestures: Sequence[Gesture], path: Sequence[Step], steps: list[Step], like: np.ndarray
) -> list[Step]:
    """A faulty first chord, mended at once, is where its row begins."""
    first = steps[0]
    g = first.gesture - 1
    following = next((step for step in steps[1:] if step.how in (How.ON, How.OVER)), None)
    if g < 0 or following is None or path[g].how != How.OUT:
        return steps
    tried = gestures[first.gesture].onset_s - gestures[g].onset_s
    held = gestures[following.gesture].onset_s - gestures[first.gesture].onset_s
    full = len(gestures[g].struck) * 2 > len(gestures[first.gesture].struck)
    meant = like[g, first.key, first.chord] >= HALF or same_chord(
        gestures[g], gestures[first.gesture]
    )
    if tried > AT_ONCE * held or not full or not meant:
        return steps
    return [replace(first, gesture=g), replace(first, how=How.AGAIN), *steps[1:]]


def _false_firsts(
    gestures: Sequence[Gesture], path: Sequence[Step], start: Step, like: np.ndarray
) -> list[Pass]:
    """First chords that were struck alone just before a row and then begun again."""
    found: list[Pass] = []
    for g in range(start.gesture - 1, -1, -1):
        waited = gestures[start.gesture].onset_s - gestures[g].onset_s
        alone = len(gestures[g].struck) == 1 and len(gestures[start.gesture].struck) > 1
        if path[g].how != How.OUT or waited > LONGEST_WAIT_S:
            break
        if like[g, start.key, start.chord] >= SURELY and start.chord == 0:
            arrival = Arrival(chord=0, main=gestures[g])
            found.append(Pass(key=start.key, arrivals=(arrival,), finished=False))
        elif not alone:
            break
    return found[::-1]


def _earliest(gestures: Sequence[Gesture], steps: list[Step], like: np.ndarray) -> list[Step]:
    """Let each chord begin with the first full gesture that is more like it than the last one.

    The best path may take a chord's second, better form for its arrival; but what was
    played first is what was played.
    """
    moved = list(steps)
    for i in range(len(moved) - 1, 1, -1):
        here, before = moved[i], moved[i - 1]
        if here.how not in (How.ON, How.OVER) or before.how not in (How.AGAIN, How.STRAY):
            continue
        likes = like[before.gesture, here.key]
        if gestures[before.gesture].struck == gestures[moved[i - 2].gesture].struck:
            continue  # the chord before, struck again
        full = len(gestures[before.gesture].struck) * 2 > len(gestures[here.gesture].struck)
        if full and likes[here.chord] >= likes[before.chord] - NEARLY:
            moved[i - 1] = replace(here, gesture=before.gesture)
            moved[i] = replace(before, gesture=here.gesture, how=How.AGAIN, chord=here.chord)
    return moved


def _as_pass(gestures: Sequence[Gesture], steps: Sequence[Step], chords: int) -> Pass:
    arrivals: list[Arrival] = []
    for step in steps:
        gesture = gestures[step.gesture]
        if step.how in (How.AGAIN, How.STRAY):
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
    before, main = max(pairwise(struck), key=lambda pair: pair[1].onset_s - pair[0].onset_s)
    if main.onset_s - before.onset_s < WAITED * meant:
        return [row]  # struck again in time: comping, and then perhaps a search
    tried = tuple(one for one in first.later if one.onset_s < main.onset_s)
    after = tuple(one for one in first.later if one.onset_s > main.onset_s)
    false = Pass(key=row.key, arrivals=(replace(first, later=tried),), finished=False)
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
