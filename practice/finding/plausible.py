"""Which of the rows that were found are passes, and which only happen to look like one.

In free playing two or three chords in a row may be somewhat like a target. A row is believed
for itself when its chords are GOOD on average, nothing that is no part of it was struck in
between, and its chords come about as evenly as the target asks. A FAIR row (a pass with a
mistake) is believed in company: in a take that is practice of the target (made of whole rows for
the most part, mistakes and all, most of them at about one pace), or near to good rows of about the
same pace. A false start is one before a pass in its key.
"""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

import numpy as np

from stackline.practice.finding.gestures import Gesture
from stackline.practice.finding.pass_records import Pass
from stackline.practice.finding.row_search import same_chord
from stackline.practice.targets.targets import Target

GOOD, FAIR = 0.84, 0.50  # mean likeness of a row's chords
GOOD_STACKS = 0.70  # the same of stacks, to which little else is like
STRAY_CHORD = 0.12  # taken off for each full chord in between that is none of the row's
UNEVEN = 0.15  # taken off where the chords come far from evenly
FOREIGN = 0.5  # likeness below which a full chord is none of the row's
FULL = 3  # keys
EVENLY = 3.2  # the longest beat over the shortest
MOSTLY = 0.85  # of a take's chords in whole rows: it is practice of this target, if they are of
WORTHY = 0.70  # mean worth of the whole rows of such a take
STEADY, ONE_PACE = 0.6, 1.7  # share of whole rows, and how near the median pace
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
    mostly = is_practice(rows, gestures, like, target)
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


def is_practice(
    rows: Sequence[Pass], gestures: Sequence[Gesture], like: np.ndarray, target: Target
) -> bool:
    """Whether a take is made of its whole rows for the most part, mistakes and all.

    like: see `likeness`.
    """
    place = {id(gesture): i for i, gesture in enumerate(gestures)}
    whole = [_worth(row, place, like, target) for row in rows if row.finished]
    worthy = bool(whole) and sum(whole) / len(whole) >= WORTHY
    return worthy and _steady(rows, target) and explained(rows, gestures, like) >= MOSTLY


def _steady(rows: Sequence[Pass], target: Target) -> bool:
    """Whether most whole rows go at about one pace, as one player's do."""
    paces = [_pace(row, target) for row in rows if row.finished and len(row.arrivals) > 1]
    if not paces:
        return True
    usual = median(paces)
    near = sum(1 / ONE_PACE <= pace / usual <= ONE_PACE for pace in paces)
    return near >= STEADY * len(paces)


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


def _pace(row: Pass, target: Target) -> float:
    """Seconds a beat from the first chord to the last."""
    first, last = row.arrivals[0], row.arrivals[-1]
    beats = float(sum(target.beats[first.chord : last.chord]))
    return (last.main.onset_s - first.main.onset_s) / beats


def explained(rows: Sequence[Pass], gestures: Sequence[Gesture], like: np.ndarray) -> float:
    """The share of a take's chords that are a chord of a whole row, first struck or again.

    like: see `likeness`.
    """
    place = {id(gesture): i for i, gesture in enumerate(gestures)}
    chords = sum(len(gesture.struck) > 1 for gesture in gestures)
    here = 0
    for row in rows:
        for one in row.arrivals if row.finished else ():
            likes = like[:, row.key, one.chord]
            here += len(one.main.struck) > 1
            here += sum(
                len(again.struck) > 1
                and (same_chord(again, one.main) or likes[place[id(again)]] >= GOOD)
                for again in one.later
            )
    return here / chords if chords else 1.0


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
