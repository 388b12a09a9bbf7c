"""What is avoided, and what to practise next and why, from the twelve keys of a target.

Avoided, once three takes hold passes, is a key that was never played, or at most a third as
often as the middle key, or not for three weeks while others were (thresholds ours). Next, the first
that holds: a key that goes wrong, a key never played, a key that is only coming, a key long
unplayed, a faster tempo.
Of several, the least played goes first.
"""

import datetime
import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from stackline.practice.columns import plural
from stackline.practice.library.store import Store
from stackline.practice.progress.twelve_keys import KeyHistory
from stackline.practice.targets.targets import Target
from stackline.practice.written.next_thing import FASTER, listed

RARELY = 1 / 3  # of the passes of the middle key (ours)
ENOUGH_TAKES = 3  # with passes of the target, before anything is called avoided
SLOWLY = 0.75  # of the usual tempo in a key that goes wrong
LONG_DAYS = 21  # three weeks (ours)


@dataclass(frozen=True, kw_only=True)
class Avoided:
    """A key that is avoided, and why one may say so."""

    key_name: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Advice:
    """What to do next, and why, each in a sentence; avoided: keys."""

    next: str
    why: str
    avoided: tuple[Avoided, ...]


def advise(store: Store, target: Target, keys: Sequence[KeyHistory]) -> Advice:
    """Advice on one target from its twelve keys."""
    avoided = avoided_keys(keys) if _takes(store, target.name) >= ENOUGH_TAKES else ()
    for rule in (_wrong, _new, _coming, _stale):
        found = rule(store, target, keys)
        if found:
            return Advice(next=found[0], why=found[1], avoided=avoided)
    tempos = [one.best_bpm for one in keys if one.best_bpm]
    if not tempos:
        return Advice(
            next="Take a harder target.", why="All twelve keys are solid.", avoided=avoided
        )
    return Advice(
        next=f"Play all twelve keys at {min(tempos) * FASTER:.0f} beats a minute.",
        why=f"All are solid; the slowest so far was {min(tempos):.0f}.",
        avoided=avoided,
    )


def _takes(store: Store, target: str) -> int:
    """How many takes hold a whole pass of a target."""
    counted = store.read(
        "SELECT count(DISTINCT take_id) FROM pass WHERE target = ? AND finished", (target,)
    )
    return int(counted[0][0])


def avoided_keys(keys: Sequence[KeyHistory]) -> tuple[Avoided, ...]:
    """The keys that a player keeps away from; empty before anything was played."""
    played = [one for one in keys if one.passes]
    if not played:
        return ()
    middle = median(one.passes for one in keys)
    latest = max(str(one.last_played) for one in played)
    found = []
    for one in keys:
        if not one.passes:
            found.append(Avoided(key_name=one.key_name, why="never played"))
        elif one.passes <= middle * RARELY:
            why = f"{one.passes} of {sum(k.passes for k in keys)} passes"
            found.append(Avoided(key_name=one.key_name, why=why))
        elif days_between(str(one.last_played), latest) >= LONG_DAYS:
            found.append(Avoided(key_name=one.key_name, why=f"not since {one.last_played}"))
    return tuple(found)


def days_between(earlier: str, later: str) -> int:
    """Days from one ISO date to another."""
    return (datetime.date.fromisoformat(later) - datetime.date.fromisoformat(earlier)).days


def _least_played(keys: Sequence[KeyHistory]) -> KeyHistory:
    return min(keys, key=lambda one: one.passes)


def _wrong(store: Store, target: Target, keys: Sequence[KeyHistory]) -> tuple[str, str] | None:
    wrong = [one for one in keys if one.verdict == "not yet"]
    if not wrong:
        return None
    one = min(wrong, key=lambda key: key.landed_rate if key.landed_rate is not None else 1.0)
    words = commonest_fault(store, target.name, one.key)
    why = f"{plural(one.clean, 'clean pass', 'clean passes')} of {one.passes} in {one.key_name}"
    usual = usual_bpm(store, target.name, one.key)
    tempo = f", at {usual * SLOWLY:.0f} beats a minute," if usual else ""
    do = f"Play {one.key_name} slowly{tempo} until three passes in a row are clean."
    return do, f"{why}; most often: {words}." if words else f"{why}."


def usual_bpm(store: Store, target: str, key: int) -> float | None:
    """The median tempo of a key's last passes, None where none has one."""
    rows = store.read(
        "SELECT tempo_bpm FROM pass WHERE target = ? AND key = ? AND finished "
        "AND tempo_bpm IS NOT NULL ORDER BY played_on DESC LIMIT 10", (target, key),
    )  # fmt: skip
    return median(row[0] for row in rows) if rows else None


def commonest_fault(store: Store, target: str, key: int) -> str | None:
    """The fault that was made most often in a key, in words."""
    rows = store.read(
        "SELECT faults FROM pass WHERE target = ? AND key = ? AND finished ORDER BY played_on DESC "
        "LIMIT 50", (target, key),
    )  # fmt: skip
    words = Counter(fault["words"] for row in rows for fault in json.loads(row["faults"]))
    return words.most_common(1)[0][0] if words else None


def _new(store: Store, target: Target, keys: Sequence[KeyHistory]) -> tuple[str, str] | None:
    fresh = [one.key_name for one in keys if one.verdict == "not played"]
    if not fresh:
        return None
    why = f"Not played yet: {listed(fresh)}."
    return f"Take it to {fresh[0]}, the next round the circle.", why


def _coming(store: Store, target: Target, keys: Sequence[KeyHistory]) -> tuple[str, str] | None:
    coming = [one for one in keys if one.verdict == "coming"]
    if not coming:
        return None
    one = _least_played(coming)
    words = commonest_fault(store, target.name, one.key)
    why = f"{one.clean} of {one.passes} passes were clean; solid is three in a row, on two days"
    why = f"{why}; most often: {words}." if words else f"{why}."
    tempo = f", at {one.best_bpm:.0f} beats a minute" if one.best_bpm else ""
    return f"Play {one.key_name} until three passes in a row are clean{tempo}.", why


def _stale(store: Store, target: Target, keys: Sequence[KeyHistory]) -> tuple[str, str] | None:
    latest = max((one.last_played for one in keys if one.last_played), default=None)
    if latest is None:
        return None
    stale = [one for one in keys if days_between(str(one.last_played), latest) >= LONG_DAYS]
    if not stale:
        return None
    one = min(stale, key=lambda key: str(key.last_played))
    return f"Play {one.key_name} again.", f"It was last played on {one.last_played}."
