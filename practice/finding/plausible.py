"""Which of the rows that were found are passes, and which only happen to look like one.

In free playing two or three chords in a row may be somewhat like a target. A row is believed
for itself when its chords are GOOD on average, nothing that is no part of it was struck in
between, and its chords come about as evenly as the target asks. A FAIR row (a pass with a
mistake) is believed in company: in a take that is made of such rows for the most part, or near
to good rows of about the same pace. A false start is one before a pass in its key.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from stackline.practice.finding.gestures import Gesture
from stackline.practice.finding.pass_records import Pass
from stackline.practice.targets.targets import Target

GOOD, FAIR = 0.84, 0.50  # mean likeness of a row's chords
GOOD_STACKS = 0.70  # the same of stacks, to which little else is like
STRAY_CHORD = 0.12  # taken off for each full chord in between that is none of the row's
UNEVEN = 0.15  # taken off where the chords come far from evenly
FOREIGN = 0.5  # likeness below which a full chord is none of the row's
FULL = 3  # keys
EVENLY = 3.2  # the longest beat over the shortest
MOSTLY = 0.85  # of a take's full chords in rows: the take is practice of this target, if
MANY = 3  # times as many rows as the good ones are the most that may be fair
COMPANY, COMPANY_S = 2, 60.0  # good rows, and how near
SAME_PACE = 2.0  # times as fast or slow, at most (ours)


def plausible(
    rows: Sequence[Pass], gestures: Sequence[Gesture], like: np.ndarray, target: Target
) -> list[Pass]:
    """The rows to believe, in order. like: see `likeness`."""
    place = {id(gesture): i for i, gesture in enumerate(gestures)}
    worth = [_worth(row, place, like, target) for row in rows]
    least = GOOD_STACKS if target.has_stacks else GOOD
    good = [row for row, one in zip(rows, worth, strict=True) if row.finished and one >= least]
    fair = sum(row.finished and FAIR <= one < least for row, one in zip(rows, worth, strict=True))
    more_good = MANY * len(good) >= fair or len(rows) == 1
    mostly = more_good and covered(rows, gestures, like) >= MOSTLY
    kept: list[Pass] = []
    for row, one in zip(rows, worth, strict=True):
        company = mostly or (
            more_good and sum(_near(row, other, target) for other in good) >= COMPANY
        )
        if not row.finished or one >= least or (one >= FAIR and company):
            kept.append(row)
    return [
        row for i, row in enumerate(kept)
        if row.finished or mostly or _begins_again(row, kept[i + 1 :])
    ]  # fmt: skip


def _worth(row: Pass, place: dict[int, int], like: np.ndarray, target: Target) -> float:
    """How good a row is: mean likeness over the target's chords, less what speaks against it."""
    likes = [like[place[id(one.main)], row.key, one.chord] for one in row.arrivals]
    worth = float(sum(likes)) / len(target.chords)
    for one in row.arrivals:
        strays = [
            gesture for gesture in one.later
            if len(gesture.struck) >= FULL
            and like[place[id(gesture)], row.key, one.chord] < FOREIGN
        ]  # fmt: skip
        worth -= STRAY_CHORD * len(strays)
    paces = _paces(row, target)
    if len(paces) > 1 and max(paces) > EVENLY * min(paces):
        worth -= UNEVEN
    return worth


def _paces(row: Pass, target: Target) -> list[float]:
    """Seconds a beat of each change."""
    return [
        (b.main.onset_s - a.main.onset_s) / float(sum(target.beats[a.chord : b.chord]))
        for a, b in pairwise(row.arrivals)
    ]


def covered(rows: Sequence[Pass], gestures: Sequence[Gesture], like: np.ndarray) -> float:
    """The share of a take's full chords that are the chord of the row that they are in.

    like: see `likeness`.
    """
    place = {id(gesture): i for i, gesture in enumerate(gestures)}
    full = sum(len(gesture.struck) >= FULL for gesture in gestures)
    fitting = 0
    for row in rows:
        for one in row.arrivals:
            likes = like[:, row.key, one.chord]
            fitting += len(one.main.struck) >= FULL and likes[place[id(one.main)]] >= FOREIGN
            fitting += sum(
                len(gesture.struck) >= FULL and likes[place[id(gesture)]] >= GOOD
                for gesture in one.later
            )
    return fitting / full if full else 1.0


def _near(row: Pass, good: Pass, target: Target) -> bool:
    """Whether a good row is close by, at about the same pace."""
    apart = max(good.start_s - row.end_s, row.start_s - good.end_s)
    one, other = _paces(row, target), _paces(good, target)
    if good is row or apart > COMPANY_S or not one or not other:
        return False
    ratio = (sum(one) / len(one)) / (sum(other) / len(other))
    return 1 / SAME_PACE <= ratio <= SAME_PACE


def _begins_again(row: Pass, later: Sequence[Pass]) -> bool:
    """Whether the next whole row is in the key of a false start."""
    following = next((one for one in later if one.finished), None)
    return following is not None and following.key == row.key
