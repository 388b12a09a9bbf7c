"""Families of voicings: what a player means by "in fourths" or "drop 2" for a whole progression.

A family has a kind of voicing for most chords; where it has none for a chord, the family beside
it lends one, as players do (upper structures on the dominants alone, common practice).
"""

from dataclasses import dataclass
from functools import cache

from stackline.theory.chords.qualities import quality
from stackline.theory.stacks import kinds
from stackline.theory.ways.builds import Build, builds, missing

_ROOTLESS = (kinds.ROOTLESS_3, kinds.ROOTLESS_4, kinds.ROOTLESS_6, kinds.ROOTLESS_7)
_FOURTHS = (kinds.FOURTHS, kinds.FOURTHS_THIRD, kinds.FOURTHS_TWO_HANDS)
OPEN, UPPER, FIFTHS = "open, two hands", "upper structure", "stacked fifths"
THREE_NOTES = "rootless, three notes"
MANY = 10  # notes: as many as fingers


@dataclass(frozen=True, kw_only=True)
class Family:
    """name: as printed. kinds: of `stacks.kinds`, or how they begin. least, most: notes.

    beside: the families that lend, in order. share: how many of the chords must be its own.
    """

    name: str
    kinds: tuple[str, ...]
    least: int = 2
    most: int = MANY
    beside: tuple[str, ...] = ()
    share: float = 0.5

    def has(self, build: Build) -> bool:
        """Whether a voicing is of the family."""
        if not self.least <= len(build.heights) <= self.most:
            return False
        return any(kind in self.kinds or (kind.startswith(UPPER) and UPPER in self.kinds)
                   for kind in build.kinds)  # fmt: skip


FAMILIES = (
    Family(name="rootless", kinds=_ROOTLESS, least=4, most=4, beside=("four-way close",)),
    Family(name=THREE_NOTES, kinds=(*_ROOTLESS, kinds.ROOTLESS_OPEN), most=3, least=3,
           beside=("shell",)),
    Family(name="guide tones", kinds=(kinds.GUIDE_TONES,), beside=("shell",)),
    Family(name="shell", kinds=(kinds.SHELL,), beside=("guide tones",)),
    Family(name="fourths", kinds=_FOURTHS, beside=(OPEN, "rootless")),
    Family(name=OPEN, kinds=(kinds.ROOTLESS_OPEN, kinds.ROOTED_OPEN), least=5,
           beside=("spread", UPPER)),
    Family(name=UPPER, kinds=(UPPER,), least=5, beside=(OPEN, "spread"), share=0.2),
    Family(name="spread", kinds=(kinds.SPREAD,), beside=(OPEN,)),
    Family(name=FIFTHS, kinds=(kinds.FIFTHS_TWO_HANDS,), beside=(OPEN, "spread")),
    Family(name="drop 2", kinds=(kinds.DROP_2,), beside=("rootless",)),
    Family(name="drop 3", kinds=(kinds.DROP_3,), beside=("drop 2",)),
    Family(name="drop 2&4", kinds=(kinds.DROP_24,), beside=("drop 2",)),
    Family(name="four-way close", kinds=(kinds.FOUR_WAY, *_ROOTLESS), least=4, most=4),
    Family(name="block chord", kinds=(kinds.BLOCK,), beside=("four-way close",)),
)  # fmt: skip
BY_NAME = {family.name: family for family in FAMILIES}


@cache
def members(name: str, key: str) -> tuple[Build, ...]:
    """A family's own voicings of a quality: of them those that hold most of what it writes."""
    own = [one for one in builds(key) if BY_NAME[name].has(one)]
    fewest = min((missing(quality(key), one.degrees) for one in own), default=0)
    return tuple(one for one in own if missing(quality(key), one.degrees) == fewest)


def family_of(build: Build) -> str:
    """The first family that a voicing is of; its primary kind where it is of none."""
    return next((one.name for one in FAMILIES if one.has(build)), build.kinds[0])
