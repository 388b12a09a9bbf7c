"""Voicings by rule: four notes in close position, every inversion, and what is built from it.

An arranger voices a lead note with a close four-note chord below it and moves notes of that:
drop 2, drop 3, drop 2&4, or the lead doubled an octave below (block chord). A shell is the guide
tones, with the root or without. Of the chord's notes
the 9 stands for the root and a 13 or 11 for the fifth, plain or altered as the symbol allows
(common practice). With the table of `shapes` these are all the voicings that are suggested.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product

from stackline.theory.chords.degrees import pitch_class
from stackline.theory.chords.qualities import QUALITIES, Quality, quality
from stackline.theory.stacks.frames import (
    SHELL_NOTES,
    asked,
    contradicting,
    guide_tones,
    stands_without,
)
from stackline.theory.stacks.shapes import COMMON, shapes, stack_semitones
from stackline.theory.stacks.structures import structures

OCTAVE = 12  # semitones
ALTERED = frozenset({"b5", "#5", "b9", "#9", "#11", "b13"})
_PLACES = {  # family: what may stand for the root, the third, the fifth and the seventh
    "major": ("R 9", "3", "5 13 #11", "7 6"),
    "minor": ("R 9", "b3", "5 11", "b7 6 7"),
    "dominant": ("R 9 b9 #9", "3", "5 13 b13 #11", "b7"),
    "suspended": ("R 9 b9", "4", "5 13", "b7"),
    "half-diminished": ("R 9", "b3", "b5 11 b13", "b7"),
    "diminished": ("R 9", "b3 11", "b5 b13", "bb7 7"),
}
_MOVED_DOWN = {"close": (), "drop 2": (2,), "drop 3": (1,), "drop 2&4": (0, 2)}  # from the bottom


@dataclass(frozen=True, kw_only=True)
class Build:
    """A voicing of a quality anywhere on the keys.

    degrees: low to high. heights: semitones above the root below the lowest note. kinds: as
    `structures` finds them. quality: the key of the chord that it makes (a G7 played as G13).
    """

    degrees: tuple[str, ...]
    heights: tuple[int, ...]
    kinds: tuple[str, ...]
    quality: str
    source: str


@cache
def builds(key: str) -> tuple[Build, ...]:
    """Every voicing of a quality that its symbol allows; none twice.

    What comes first holds most of what the symbol writes. Raises KeyError for an unknown quality.
    """
    row = quality(key)
    found: dict[tuple[int, ...], Build] = {}
    for degrees, heights, source in (*_from_table(), *_shells(row), *_by_rule(row.family)):
        if heights not in found and fits(row, heights):
            found[heights] = Build(
                degrees=degrees,
                heights=heights,
                kinds=structures(heights, 0, row.family),
                quality=made_quality(row, degrees),
                source=source,
            )
    return tuple(sorted(found.values(), key=lambda one: missing(row, one.degrees)))


def fits(row: Quality, heights: tuple[int, ...]) -> bool:
    """Whether what sounds says what a symbol asks for, and nothing against it.

    Shells and guide tones leave written tensions out, fourths a guide tone (see `frames`). What a
    symbol writes beyond its seventh is played as written; a plain one leaves it to the player.
    """
    sounding = {height % OCTAVE for height in heights}
    if contradicting(row, sounding) or len(sounding) == 1:
        return False
    guides = {pitch_class(one) for one in guide_tones(row)}
    if len(heights) <= SHELL_NOTES and guides <= sounding <= guides | {0}:
        return True
    if not is_plain(row) and not sounding <= set(row.intervals):
        return False
    if any(pitch_class(one) not in sounding for one in row.degrees if one in ALTERED):
        return row.key == "7alt" and bool(sounding & {1, 3, 6, 8}) and guides <= sounding
    due = all(any(pitch_class(one) in sounding for one in group) for group in asked(row))
    return due or stands_without(heights, 0, row)


def is_plain(row: Quality) -> bool:
    """Whether a symbol writes nothing beyond its triad and its seventh or 6."""
    return not any((one[-1] in "913" and one not in ("3", "b3")) or one in ALTERED
                   for one in row.degrees)  # fmt: skip


def missing(row: Quality, degrees: tuple[str, ...]) -> int:
    """How many of a symbol's written degrees, root and fifth aside, do not sound."""
    sounding = {pitch_class(one) for one in degrees}
    return sum(pitch_class(one) not in sounding for one in row.degrees if one not in ("R", "5"))


def made_quality(row: Quality, degrees: tuple[str, ...]) -> str:
    """The chord that a voicing makes of a symbol: the symbol's own, or the smallest that has all.

    A note that no chord of the table names beside the others leaves the symbol as it was.
    """
    wanted = {pitch_class(one) for one in (*degrees, *guide_tones(row)[:1])}
    if wanted <= set(row.intervals):
        return row.key
    fitting = [
        one for one in QUALITIES if one.family == row.family and wanted <= set(one.intervals)
    ]
    return min(fitting, key=lambda one: len(one.degrees)).key if fitting else row.key


def _from_table() -> Iterator[tuple[tuple[str, ...], tuple[int, ...], str]]:
    for shape in shapes():
        yield shape.degrees, shape.semitones, shape.source


def _shells(row: Quality) -> Iterator[tuple[tuple[str, ...], tuple[int, ...], str]]:
    """The guide tones alone in either order, and over the root."""
    guides = guide_tones(row)
    if len(guides) < 2:
        return
    for pair in (guides, guides[::-1]):
        for degrees in (pair, ("R", *pair)):
            yield degrees, stack_semitones(degrees), COMMON


def _by_rule(family: str) -> Iterator[tuple[tuple[str, ...], tuple[int, ...], str]]:
    """Each set of four notes in each inversion, and what is built from it."""
    for chosen in product(*(place.split() for place in _PLACES[family])):
        rising = sorted((pitch_class(one), one) for one in chosen)
        is_tonic_minor = family == "minor" and "b7" not in chosen
        if len(dict(rising)) < len(rising) or (is_tonic_minor and "11" in chosen):
            continue  # a doubled note, or the 11 that belongs to a ii
        for turn in range(len(rising)):
            close = rising[turn:] + [(height + OCTAVE, one) for height, one in rising[:turn]]
            yield from _built_from(close)


def _built_from(
    close: list[tuple[int, str]],
) -> Iterator[tuple[tuple[str, ...], tuple[int, ...], str]]:
    rows = [
        [(height - OCTAVE * (i in down), one) for i, (height, one) in enumerate(close)]
        for down in _MOVED_DOWN.values()
    ]
    top_height, top = close[-1]
    rows.append([(top_height - OCTAVE, top), *close])
    for row in rows:
        heights, degrees = zip(*sorted(row), strict=True)
        up = OCTAVE * (heights[0] < 0)
        yield degrees, tuple(height + up for height in heights), COMMON
