"""A plan for one day: what is due, in order, as far as the time goes; at most one new key.

First what went wrong last time, then what has waited longest beside its spacing, then one key that
was never played, the next round the circle of fourths of the target that was played last. Each
item is played through REPEATS times; after every WORK_MINUTES comes a rest of a minute.
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stackline.practice.drills.drill import DEFAULT_BPM, Drill, make_drill
from stackline.practice.library.store import Store
from stackline.practice.progress.advice import usual_bpm
from stackline.practice.progress.due import Due, due_dates
from stackline.practice.review.reviewing import CIRCLE
from stackline.practice.targets.targets import Target
from stackline.shared.complaint import Complaint
from stackline.shared.units import FASTEST_BPM, SLOWEST_BPM

REPEATS = 4  # times through each: three clean ones make a key solid, the first is to find it
WORK_MINUTES, REST_MINUTES = 5.0, 1.0  # ours: short spells, hands at rest between them
LEAST_MINUTES, MOST_MINUTES = 5, 120  # longer is not asked of hands (ours)
SLOWER = 0.8  # of the usual tempo after a miss, and of the target's in a new key


@dataclass(frozen=True, kw_only=True)
class Item:
    """One thing to play. why: in words. drill: the target in its key, REPEATS times."""

    target: Target
    key: int
    why: str
    drill: Drill

    @property
    def minutes(self) -> float:
        """How long it takes with its count-in."""
        return self.drill.beats / self.drill.tempo_bpm


@dataclass(frozen=True, kw_only=True)
class Plan:
    """items: in the order to play. left: due but without time today. coming: what is due next."""

    day: datetime.date
    items: tuple[Item, ...]
    left: int
    coming: tuple[Due, ...]

    @property
    def minutes(self) -> float:
        """The whole, rests included."""
        played = sum(one.minutes for one in self.items)
        return played + REST_MINUTES * int(played / WORK_MINUTES)


def make_plan(
    store: Store, targets: Sequence[Target], day: datetime.date, minutes: int = 20
) -> Plan:
    """The plan of a day; targets: those that passes were kept of.

    Raises Complaint for minutes outside 5 to 120.
    """
    if not LEAST_MINUTES <= minutes <= MOST_MINUTES:
        raise Complaint(
            f"--minutes {minutes}: allowed are {LEAST_MINUTES} to {MOST_MINUTES}; "
            "more is better on another day"
        )
    known = {one.name: one for one in targets}
    every = [one for one in due_dates(store, day) if one.target in known]
    waiting = sorted((one for one in every if one.day <= day), key=lambda one: _urgency(one, day))
    wanted = [_item(store, known[one.target], one.key, _why(one, day), one.missed)
              for one in waiting]  # fmt: skip
    wanted += _new_key(store, every, known)
    items = _that_fit(wanted, minutes)
    later = sorted((one for one in every if one.day > day), key=lambda one: (one.day, one.target))
    return Plan(
        day=day,
        items=items,
        left=len(wanted) - len(items),
        coming=tuple(later),
    )


def _urgency(one: Due, day: datetime.date) -> tuple[bool, float, str, int]:
    return (not one.missed, -one.days_over(day) / one.spacing_days, one.target, one.key)


def _why(one: Due, day: datetime.date) -> str:
    if one.missed:
        return "it did not land last time"
    over = one.days_over(day)
    waited = "due today" if not over else f"{over} day{'s' if over > 1 else ''} over"
    return f"{waited}, every {one.spacing_days} day{'s' if one.spacing_days > 1 else ''}"


def _new_key(store: Store, every: Sequence[Due], known: Mapping[str, Target]) -> list[Item]:
    """One key that was never played, of the target that was played last and has such a key."""
    rows = store.read(
        "SELECT target, max(played_on) AS day FROM pass WHERE finished GROUP BY target "
        "ORDER BY day DESC, target"
    )
    for name in (row["target"] for row in rows):
        played = {one.key for one in every if one.target == name}
        fresh = [key for key in CIRCLE if key not in played]
        if name in known and fresh and played:
            return [_item(store, known[name], fresh[0], "a new key", slower=True)]
    return []


def _item(store: Store, target: Target, key: int, why: str, slower: bool) -> Item:
    usual = usual_bpm(store, target.name, key) or target.tempo_bpm or DEFAULT_BPM
    tempo = round(usual * (SLOWER if slower else 1.0))
    tempo = min(max(tempo, int(SLOWEST_BPM)), int(FASTEST_BPM))
    drill = make_drill(target, [key] * REPEATS, tempo_bpm=float(tempo))
    return Item(target=target, key=key, why=why, drill=drill)


def _that_fit(wanted: Sequence[Item], minutes: int) -> tuple[Item, ...]:
    """As many from the first on as the time holds, rests included; one at the least."""
    found: list[Item] = []
    for one in wanted:
        played = sum(item.minutes for item in (*found, one))
        if found and played + REST_MINUTES * int(played / WORK_MINUTES) > minutes:
            break
        found.append(one)
    return tuple(found)
