"""Where a dominant is the I of a blues, and owes no resolution to the IV.

In a blues the I is a dominant seventh at rest: the move to the IV7 is a change of place, not
V to I (common practice). A dominant before a dominant a fourth up is taken for that I if,
within REACH chords either way,

    it comes back after the IV, at once or by way of the diminished chord above the IV
    it is struck more often than the IV: in V7-I7 the second is the one that is home
    no major or minor chord stands on its root
    no tension of it is altered, and its own ii does not lead into it: either turns the I
    into the V of the IV, as players do in the fourth bar
"""

from collections.abc import Sequence
from itertools import pairwise

from stackline.shared.harmony import Voicing
from stackline.theory.chords.qualities import quality
from stackline.theory.form.progress import Run, chord_runs, root_step

REACH = 8
_ALTERED = frozenset({"b9", "#9", "b13", "#5", "b5"})
_TWO = frozenset({"minor", "half-diminished"})


def home_dominants(voicings: Sequence[Voicing]) -> frozenset[int]:
    """Indices of voicings that are the I7 of a blues just before its IV7."""
    runs = chord_runs(voicings)
    return frozenset(
        now.last
        for i, (now, following) in enumerate(pairwise(runs))
        if now.family == following.family == "dominant"
        and root_step(now, following) == 5
        and not _leads_on(runs, i, voicings)
        and _is_home(runs, i)
    )


def _leads_on(runs: Sequence[Run], i: int, voicings: Sequence[Voicing]) -> bool:
    """Whether the I was made a V: altered where it is last struck, or entered from its ii."""
    degrees = set(quality(voicings[runs[i].last].chord.symbol.quality).degrees)
    from_ii = i > 0 and runs[i - 1].family in _TWO and root_step(runs[i - 1], runs[i]) == 5
    return bool(degrees & _ALTERED) or from_ii


def _is_home(runs: Sequence[Run], i: int) -> bool:
    """Whether run i comes back after the IV, and is home beside it."""
    now, four = runs[i], runs[i + 1]
    later = [one for one in runs[i + 2 : i + 4] if one.family != "diminished"][:1]
    if not any(_same(one, now) for one in later):
        return False
    near = runs[max(0, i - REACH) : i + 1 + REACH]
    here = [one for one in near if one.root_pc == now.root_pc]
    fours = [one for one in near if _same(one, four)]
    return {one.family for one in here} == {"dominant"} and len(here) > len(fours)


def _same(one: Run, two: Run) -> bool:
    return (one.root_pc, one.family) == (two.root_pc, two.family)
