"""What a player does with each kind of chord: the degree on top and at the bottom, the structure,
where it lies. Told from twenty cases on: fewer say nothing of a habit (ours).
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from stackline.practice.library.store import Store
from stackline.report.words.marks import UNSURE_BELOW

ENOUGH = 20  # cases before anything is said (ours)


@dataclass(frozen=True, kw_only=True)
class QualityHabit:
    """One quality. tops, bottoms, structures: the commonest first, with counts.

    lowest, highest: the median MIDI pitches of its outer notes.
    """

    quality: str
    cases: int
    tops: tuple[tuple[str, int], ...]
    bottoms: tuple[tuple[str, int], ...]
    structures: tuple[tuple[str, int], ...]
    lowest: int
    highest: int


def quality_habits(store: Store, since: str = "") -> tuple[QualityHabit, ...]:
    """Each quality with at least twenty sure voicings, the commonest first.

    since: an ISO date, empty for everything.
    """
    rows = store.read(
        "SELECT quality, stack, lowest, highest, (SELECT name FROM structure s WHERE "
        "s.take_id = v.take_id AND s.place = v.place LIMIT 1) AS structure FROM voicing v "
        "JOIN take ON take.id = v.take_id WHERE played_on >= ? AND v.confidence >= ? "
        "AND lowest IS NOT NULL",
        (since, UNSURE_BELOW),
    )
    by_quality: dict[str, list[tuple[str, int, int, str]]] = {}
    for row in rows:
        one = (row["stack"], row["lowest"], row["highest"], row["structure"] or "")
        by_quality.setdefault(row["quality"], []).append(one)
    found = [_habit(key, cases) for key, cases in by_quality.items() if len(cases) >= ENOUGH]
    return tuple(sorted(found, key=lambda one: (-one.cases, one.quality)))


def _habit(key: str, cases: Sequence[tuple[str, int, int, str]]) -> QualityHabit:
    stacks = [stack.split() for stack, *_ in cases]
    return QualityHabit(
        quality=key,
        cases=len(cases),
        tops=_commonest([stack[-1] for stack in stacks]),
        bottoms=_commonest([stack[0] for stack in stacks]),
        structures=_commonest([case[3] for case in cases]),
        lowest=round(median(case[1] for case in cases)),
        highest=round(median(case[2] for case in cases)),
    )


def _commonest(names: Sequence[str]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(Counter(names).items(), key=lambda one: (-one[1], one[0])))
