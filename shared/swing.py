"""Whether a take swings, and which off-beats are read as eighths: one rule for score and places.

Where most off-beats of a take fall on the last third of a beat, it swings. An off-beat that stands
alone on the last third is read and counted as an eighth, in a take that swings lightly too, where
some fall on the half and some on the third (common practice). A beat that also holds another inner
place, a true triplet, stays as it was heard; so does one whose next attack is on a first third, as
in triplets of quarters.
"""

from collections.abc import Hashable, Iterable, Sequence
from fractions import Fraction
from typing import TypeVar

from stackline.shared.notes import Attack, Position

# Where an off-beat falls, in beats (common practice).
LATE, STRAIGHT, FIRST_THIRD = Fraction(2, 3), Fraction(1, 2), Fraction(1, 3)
SWING_AT_LEAST = 3  # off-beats on the last third before a take counts as swung

Beat = TypeVar("Beat", bound=Hashable)


def is_swung(attacks: Sequence[Attack]) -> bool:
    """Whether off-beats are swung: three or more late ones, and twice as many as straight."""
    parts = [position.beat % 1 for position in positions(attacks)]
    late, straight = parts.count(LATE), parts.count(STRAIGHT)
    return late >= SWING_AT_LEAST and late >= 2 * straight


def late_beats(places: Iterable[tuple[Beat, Fraction]]) -> frozenset[Beat]:
    """The beats whose only inner place is a late off-beat, read as an eighth.

    places: a beat, and how far in it (0 to 1), in order.
    """
    inner: dict[Beat, set[Fraction]] = {}
    leading: set[Beat] = set()  # from a last third straight into a first third
    before: tuple[Beat, Fraction] | None = None
    for beat, part in places:
        if part:
            inner.setdefault(beat, set()).add(part)
        if before is not None and before[1] == LATE and part == FIRST_THIRD:
            leading.add(before[0])
        before = (beat, part)
    return frozenset(
        beat for beat, parts in inner.items() if parts == {LATE} and beat not in leading
    )


def positions(attacks: Iterable[Attack]) -> list[Position]:
    """The positions of the attacks that have one."""
    return [attack.position for attack in attacks if attack.position is not None]
