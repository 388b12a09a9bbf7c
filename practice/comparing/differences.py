"""What one set of takes does and the other never: each with an example and a way to drill it.

A shape is someone's own when it was used `OFTEN` times or more and never by the other, who
had `CHANCES` chords of that kind or more to use it on; the same for tensions on dominants.
"""

from dataclasses import dataclass

from stackline.practice.comparing.vocabulary_used import TENSIONS, Place, Used
from stackline.theory.chords.qualities import FAMILIES

OFTEN = 2
CHANCES = 6
MOST = 6  # shapes of one set that are shown
_NUMERALS = {"major": "I", "minor": "II", "dominant": "V", "suspended": "V",
             "half-diminished": "II", "diminished": "VII"}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class OwnShape:
    """A shape that only one set has. drill: the command that takes it through the keys."""

    family: str
    stack: str
    count: int
    example: Place
    drill: str


@dataclass(frozen=True, kw_only=True)
class Own:
    """What one set has and the other has not."""

    shapes: tuple[OwnShape, ...]
    tensions: tuple[str, ...]
    keys: tuple[str, ...]


def own(one: Used, other: Used) -> Own:
    """What `one` does and `other` never, though there was occasion."""
    shapes = [
        OwnShape(family=family, stack=stack, count=count, example=one.examples[family, stack],
                 drill=drill_command(family, stack, one.examples[family, stack]))
        for (family, stack), count in one.shapes.most_common()
        if count >= OFTEN and not other.shapes[family, stack] and other.families[family] >= CHANCES
    ]  # fmt: skip
    chances = other.families["dominant"] >= CHANCES
    tensions = [
        tension for tension in TENSIONS
        if chances and one.tensions[tension] >= OFTEN and not other.tensions[tension]
    ]  # fmt: skip
    enough = sum(other.keys.values()) >= CHANCES
    keys = [
        key for key, n in one.keys.most_common() if enough and n >= OFTEN and not other.keys[key]
    ]
    return Own(shapes=tuple(shapes[:MOST]), tensions=tuple(tensions), keys=tuple(keys))


def drill_command(family: str, stack: str, example: Place) -> str:
    """The command that drills a shape: its chord as a degree of the key, its stack."""
    return f'stackline drill --changes "{_NUMERALS[family]}{example.quality}: {stack}"'


def families_used(one: Used, other: Used) -> tuple[str, ...]:
    """The kinds of chord that either set has, in the table's order."""
    return tuple(family for family in FAMILIES if one.families[family] or other.families[family])
