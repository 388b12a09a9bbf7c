"""Which of the known targets a take is practice of, if of any.

Free music holds many a ii-V-I, so a pass alone says nothing. A take is practice of a target where
whole passes of it are nearly all that is played, and their chords are voiced as the target says.
How sure that is, is a logistic function of what `Likeness` counts; its weights were fitted on made
practice takes and on real tunes in which nothing is practised (``python -m
training.classifiers.fit_recognising``).

Of targets that are as likely, the one that says more is meant: stacks before symbols, then the
longer row, then the closer likeness.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stackline.practice.finding.gestures import Gesture, gestures
from stackline.practice.finding.likeness import likeness
from stackline.practice.finding.pass_records import Pass
from stackline.practice.finding.passes import find_passes
from stackline.practice.targets.targets import Target
from stackline.shared.take import Recognised, Section, Session, Take

SURE = 0.9  # from which a take is kept as practice of a target without asking
WORTH_ASKING = 0.2  # below which nobody is asked
MOST = 3  # targets told of one take

_FULL = 3  # keys of a chord that counts, fewer where the target's own are thinner
_AS_MEANT, _FITS = 0.95, 0.84  # likeness of a stack as written, and of a voicing of a symbol
_BELONGS = 0.5  # likeness from which a chord is its pass's
_LEFT_OVER = 0.05  # of a take's chords: nobody is more exact than that
_MANY_CHORDS = 12.0  # as many arrivals say nearly all


@dataclass(frozen=True, kw_only=True)
class Likeness:
    """How much of a take is a target. covered: the share of its full chords that lie in whole
    passes. as_meant: the share of the chords of those passes that are voiced as the target says.
    chords: of all whole passes. has_stacks: of the target.
    """

    covered: float
    as_meant: float
    chords: int
    has_stacks: bool


def recognise(take: Take, targets: Iterable[Target]) -> tuple[Recognised, ...]:
    """What a take is practice of, the likeliest first; nothing below WORTH_ASKING."""
    played = gestures(take.attacks)
    found = []
    for target in targets:
        rows = [row for row in find_passes(played, target) if row.finished]
        if not rows:
            continue
        like = compare(played, rows, target)
        sure = confidence(like)
        if sure >= WORTH_ASKING:
            order = (round(sure, 1), like.has_stacks, len(target.chords), like.as_meant)
            found.append((order, _recognised(target, rows, sure)))
    found.sort(key=lambda one: one[0], reverse=True)
    return tuple(one for _, one in found[:MOST])


def with_recognised(session: Session, targets: Sequence[Target]) -> Session:
    """The session with what each section is practice of."""

    def read(section: Section) -> Section:
        return replace(section, recognised=recognise(section.take, targets))

    return replace(session, sections=tuple(map(read, session.sections)))


def compare(played: Sequence[Gesture], rows: Sequence[Pass], target: Target) -> Likeness:
    """Count what whole passes, one at least, are of all that is played."""
    place = {id(gesture): i for i, gesture in enumerate(played)}
    like = likeness(played, target)
    stacks = [len(chord.stack) for chord in target.chords if chord.stack]
    full = min([_FULL, *stacks])
    good = _AS_MEANT if target.has_stacks else _FITS
    likes, inside = [], 0
    for row in rows:
        for one in row.arrivals:
            its = like[:, row.key, one.chord]
            likes.append(its[place[id(one.main)]])
            inside += len(one.main.struck) >= full and its[place[id(one.main)]] >= _BELONGS
            inside += sum(
                len(again.struck) >= full and its[place[id(again)]] >= _FITS
                for again in one.later
            )  # fmt: skip
    every = sum(len(gesture.struck) >= full for gesture in played)
    return Likeness(
        covered=inside / max(1, every),
        as_meant=float(np.mean(np.array(likes) >= good)),
        chords=len(likes),
        has_stacks=target.has_stacks,
    )


# Of `inputs`, and the constant; fitted, see above.
WEIGHTS = np.array([1.91, 15.02, 2.71, 1.10])
CONSTANT = -19.70


def inputs(like: Likeness) -> np.ndarray:
    """What is weighed, (4,): how little is left over, as a logarithm; how much is as meant; how
    many chords say so; and whether stacks do, which little else is like.
    """
    rest = -np.log(1.0 - like.covered + _LEFT_OVER)
    said = min(1.0, np.log1p(like.chords) / np.log1p(_MANY_CHORDS))
    return np.array([rest, like.as_meant, said, float(like.has_stacks)])


def confidence(like: Likeness) -> float:
    """The chance that a take is practice of the target, 0..1."""
    odds = float(inputs(like) @ WEIGHTS) + CONSTANT
    return round(float(1.0 / (1.0 + np.exp(-odds))), 3)


def _recognised(target: Target, rows: Sequence[Pass], sure: float) -> Recognised:
    return Recognised(
        target=target.name,
        confidence=sure,
        passes=len(rows),
        keys=tuple(dict.fromkeys(row.key for row in rows)),
        start_s=round(rows[0].start_s, 3),
    )
