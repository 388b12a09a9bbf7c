"""Whether a take swings, and in which beats: one rule for the score and for counted places.

Where most off-beats of a take fall on the last third of a beat, players read and count them
as eighths (common practice). A beat that also holds another inner place, a true triplet,
stays as it was heard.
"""

from collections.abc import Hashable, Iterable, Sequence
from fractions import Fraction
from typing import TypeVar

from stackline.shared.notes import Attack, Position

# Where an off-beat falls, in beats (common practice).
LATE, STRAIGHT = Fraction(2, 3), Fraction(1, 2)
SWING_AT_LEAST = 3  # off-beats on the last third before a take counts as swung

Beat = TypeVar("Beat", bound=Hashable)


def is_swung(attacks: Sequence[Attack]) -> bool:
    """Whether off-beats are swung: three or more late ones, and twice as many as straight."""
    parts = [position.beat % 1 for position in positions(attacks)]
    late, straight = parts.count(LATE), parts.count(STRAIGHT)
    return late >= SWING_AT_LEAST and late >= 2 * straight


def late_beats(places: Iterable[tuple[Beat, Fraction]]) -> frozenset[Beat]:
    """The beats whose only inner place is late, of places (a beat, and how far in it: 0 to 1)."""
    inner: dict[Beat, set[Fraction]] = {}
    for beat, part in places:
        if part:
            inner.setdefault(beat, set()).add(part)
    return frozenset(beat for beat, parts in inner.items() if parts == {LATE})


def positions(attacks: Iterable[Attack]) -> list[Position]:
    """The positions of the attacks that have one."""
    return [attack.position for attack in attacks if attack.position is not None]
