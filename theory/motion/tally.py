"""How often resolutions landed, with denominators: over a take, by degree, by key.

Landed means: landed, also in another octave or late; the exact outcomes stay visible. A
resolution belongs to the key of the chord that it was due in (its root).
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from stackline.shared.harmony import Motion, Voicing

ARRIVED = frozenset({"landed", "other octave", "late"})


@dataclass(frozen=True, kw_only=True)
class Count:
    """How many of how many; outcomes by name."""

    due: int = 0
    landed: int = 0
    outcomes: dict[str, int] = field(default_factory=dict)

    def __str__(self) -> str:
        return f"{self.landed} of {self.due}"

    @property
    def rate(self) -> float | None:
        """Share that landed; None where nothing was due."""
        return self.landed / self.due if self.due else None


@dataclass(frozen=True, kw_only=True)
class Tally:
    """Resolutions of a take: overall, by degree of the dominant, by root of the target."""

    overall: Count
    by_degree: dict[str, Count]
    by_key: dict[str, Count]


def tally(motions: Sequence[Motion], voicings: Sequence[Voicing]) -> Tally:
    """Count every resolution of a take."""
    every: list[tuple[str, str, str]] = []
    for motion in motions:
        target = voicings[motion.to_index].chord.symbol.root
        every += [(str(one.degree), target, one.outcome) for one in motion.resolutions]
    return Tally(
        overall=_count([outcome for _, _, outcome in every]),
        by_degree=_grouped([(degree, outcome) for degree, _, outcome in every]),
        by_key=_grouped([(target, outcome) for _, target, outcome in every]),
    )


def _count(outcomes: Sequence[str]) -> Count:
    return Count(
        due=len(outcomes),
        landed=sum(outcome in ARRIVED for outcome in outcomes),
        outcomes=dict(Counter(outcomes)),
    )


def _grouped(pairs: Sequence[tuple[str, str]]) -> dict[str, Count]:
    groups: dict[str, list[str]] = {}
    for group, outcome in pairs:
        groups.setdefault(group, []).append(outcome)
    return {group: _count(outcomes) for group, outcomes in groups.items()}
