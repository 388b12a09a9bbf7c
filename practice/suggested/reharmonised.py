"""Other chords for the same changes, each with its name. All are common practice.

    tritone substitute    a dominant that falls a fifth becomes the one a tritone away
    back door             II V before a major I becomes IVm7 bVII9
    passing diminished    between roots a whole step apart, rising: a diminished chord between them
    secondary dominant    the second half of a chord becomes the V of the next

A variant changes one place, so that it can be heard beside what was there.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from stackline.practice.targets.targets import Target, TargetChord

TRITONE, FOURTH, WHOLE = 6, 5, 2  # semitones
LEAST_BEATS = 2  # a chord that is halved gives at least a beat to each
LYDIAN, PLAIN = "9(#11)", "7"
_TWO_MINOR = ("minor", "half-diminished")


@dataclass(frozen=True, kw_only=True)
class Variant:
    """name: of what was done. at: index of the chord where, in `target`."""

    name: str
    at: int
    target: Target


def variants(target: Target) -> tuple[Variant, ...]:
    """Every place of a target where one of the four fits, in order of place."""
    chords = [replace(chord, stack=(), top=None) for chord in target.chords]
    found = [
        Variant(name=name, at=at, target=replace(target, chords=tuple(row)))
        for i in range(len(chords))
        for name, at, row in _at(chords, i)
    ]
    return tuple(found)


_Row = list[TargetChord]


def _at(chords: _Row, i: int) -> Iterator[tuple[str, int, _Row]]:
    here, after = chords[i], chords[i + 1 : i + 2]
    for following in after:
        step = (following.offset - here.offset) % 12
        if here.row.family == "dominant" and step == FOURTH:
            there = replace(here, offset=(here.offset + TRITONE) % 12, quality=LYDIAN)
            yield "tritone substitute", i, [*chords[:i], there, *chords[i + 1 :]]
        if here.beats >= LEAST_BEATS and step == WHOLE and here.row.family != "diminished":
            between = replace(here, offset=(here.offset + 1) % 12, quality="dim7")
            yield "passing diminished", i + 1, _halved(chords, i, between)
        if here.beats >= LEAST_BEATS and _asks_for_its_dominant(here, following):
            five = replace(here, offset=(following.offset - FOURTH) % 12, quality=PLAIN)
            yield "secondary dominant", i + 1, _halved(chords, i, five)
    if _is_two_five_one(chords[i : i + 3]):
        four = replace(here, offset=(chords[i + 2].offset + FOURTH) % 12, quality="m7")
        seven = replace(chords[i + 1], offset=(chords[i + 2].offset - WHOLE) % 12, quality="9")
        yield "back door", i, [*chords[:i], four, seven, *chords[i + 2 :]]


def _halved(chords: _Row, i: int, second: TargetChord) -> _Row:
    half = chords[i].beats / 2
    first = replace(chords[i], beats=half)
    return [*chords[:i], first, replace(second, beats=half), *chords[i + 1 :]]


def _asks_for_its_dominant(here: TargetChord, following: TargetChord) -> bool:
    """Whether a dominant of the next chord is news: neither there, nor the way it goes on."""
    if following.row.family in ("diminished", "half-diminished"):
        return False
    five = (following.offset - FOURTH) % 12
    leads = here.offset in (five, (five + TRITONE) % 12)
    return not leads and here.offset != following.offset


def _is_two_five_one(chords: _Row) -> bool:
    families = [chord.row.family for chord in chords]
    if len(chords) < 3 or families[0] not in _TWO_MINOR or families[1:] != ["dominant", "major"]:
        return False
    return all((b.offset - a.offset) % 12 == FOURTH for a, b in pairwise(chords))
