"""More of what the library shows to be weak: the keys of a drill, how often, how fast.

Turns of a key in one drill (the rule is ours):

    3  it goes wrong: no pass of it was clean yet
    2  never played, only coming, or solid and not played for three weeks
    1  solid

Turns of one key are spread over the whole drill, so that it comes back after others were played
(common practice: what has to be found again is kept better than what is repeated at once). Of
keys with as many turns the one that was not played for longest comes first, then the one with fewer
clean passes: who stops before the end leaves out something else each time.
"""

from collections.abc import Sequence

from stackline.practice.library.store import Store
from stackline.practice.progress.advice import LONG_DAYS, SLOWLY, days_between, usual_bpm
from stackline.practice.progress.twelve_keys import KeyHistory

TURNS = {"not yet": 3, "coming": 2, "not played": 2, "solid": 1}  # in one drill; ours


def turns(key: KeyHistory, today: str) -> int:
    """How often a key comes in one drill. today: ISO date."""
    stale = key.last_played is not None and days_between(key.last_played, today) >= LONG_DAYS
    return max(TURNS[key.verdict], 2 if stale else 1)


def weak_keys(keys: Sequence[KeyHistory], today: str) -> tuple[int, ...]:
    """The tonics of a drill in order, weak ones oftener."""
    dealt: list[tuple[float, int, int]] = []
    for often in set(TURNS.values()):
        group = [one for one in keys if turns(one, today) == often]
        group.sort(key=lambda one: (one.last_played or "", one.clean / max(1, one.passes)))
        for rank, one in enumerate(group):
            first = (rank + 0.5) / len(group)
            dealt += [((turn + first) / often, -often, one.key) for turn in range(often)]
    return tuple(key for _, _, key in sorted(dealt))


def weakness(keys: Sequence[KeyHistory], today: str) -> int:
    """Turns of all keys together: the weaker a target, the more."""
    return sum(turns(one, today) for one in keys)


def careful_bpm(store: Store, target: str, keys: Sequence[KeyHistory]) -> float | None:
    """A tempo at which the weakest keys can be played; None where the library knows none.

    Three quarters of the usual tempo of the slowest key that goes wrong; else the best clean tempo
    of the slowest key that is coming.
    """
    wrong = [one for one in keys if one.verdict == "not yet"]
    tempos = [bpm * SLOWLY for one in wrong if (bpm := usual_bpm(store, target, one.key))]
    tempos = tempos or [one.best_bpm for one in keys if one.verdict == "coming" and one.best_bpm]
    return min(tempos, default=None)


def in_words(keys: Sequence[KeyHistory], today: str) -> str:
    """What was given more turns and why, in a sentence; empty where all keys come once."""
    often = [one for one in keys if turns(one, today) > 1]
    often.sort(key=lambda one: -turns(one, today))
    words = [
        f"{one.key_name} {'twice' if turns(one, today) == 2 else f'{turns(one, today)} times'} "
        f"({one.verdict if one.verdict != 'solid' else f'not since {one.last_played}'})"
        for one in often
    ]
    return f"more of what is weak: {', '.join(words)}" if words else ""
