"""One place in a take: how else that chord could have been played there.

Four ways, each the nearest of its kind to what was played before and after, none twice and none
the one that was played: with the same top note, whatever moves least, of another family, and a
stack that the player has not used of late.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stackline.shared.harmony import ChordSpan, Motion, Voicing
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.motion.motion import motions
from stackline.theory.sounding import Sounding
from stackline.theory.stacks.voicing_maker import make_voicing
from stackline.theory.ways.builds import Build
from stackline.theory.ways.choices import Choice, Row, every_row, motion
from stackline.theory.ways.families import FAMILIES, family_of
from stackline.theory.ways.reach import HIGH, LOW, Reach

SAME_TOP, NEAREST = "the same top note", "least motion"
ANOTHER_FAMILY, UNUSED = "another family", "not used of late"


@dataclass(frozen=True, kw_only=True)
class OtherWay:
    """why: one of the four. voicing: as it would stand in the take. moved: semitones a voice moves.

    motions: from the voicing before and to the one after, as far as there are such.
    """

    why: str
    voicing: Voicing
    motions: tuple[Motion, ...]
    moved: float


def other_ways(
    voicings: Sequence[Voicing],
    index: int,
    reach: Reach,
    *,
    used: Collection[tuple[str, ...]] | None = None,
) -> tuple[OtherWay, ...]:
    """Up to four ways to play voicing `index` between its neighbours.

    used: degree stacks, low to high, that were played of late; None where that is not known, and
    then the fourth way is left out.
    """
    here = voicings[index]
    symbol = here.chord.symbol
    row = every_row(pitch_class_of(symbol.root), symbol.quality, reach)
    if not len(row):
        return ()
    beside = [voicings[i] for i in (index - 1, index + 1) if 0 <= i < len(voicings)]
    moved = _moved(row, [one.pitches for one in beside] or [here.pitches])
    taken = {here.pitches}
    found = []
    families = {family.name for family in FAMILIES if family.has(_as_build(here))}
    for why, is_wanted in _wishes(here, families, used):
        best = _nearest(row, moved, is_wanted, taken)
        if best is not None:
            taken.add(row.chosen[best].pitches)
            families.add(family_of(row.chosen[best].build))
            found.append(_other(why, row.chosen[best], voicings, index, float(moved[best])))
    return tuple(found)


def _wishes(
    here: Voicing, families: set[str], used: Collection[tuple[str, ...]] | None
) -> list[tuple[str, Callable[[Choice], bool]]]:
    """Why a way is wanted, and whether one is of the kind; families: those there already."""
    wishes: list[tuple[str, Callable[[Choice], bool]]] = [
        (SAME_TOP, lambda one: one.pitches[-1] == here.top.midi),
        (NEAREST, lambda one: True),
        (ANOTHER_FAMILY, lambda one: family_of(one.build) not in families),
    ]
    if used is not None:
        wishes.append((UNUSED, lambda one: one.build.degrees not in used))
    return wishes


def _as_build(here: Voicing) -> Build:
    return Build(
        degrees=tuple(map(str, here.stack)),
        heights=here.pitches,
        kinds=here.structures,
        quality=here.chord.symbol.quality,
        source="",
    )


def _moved(row: Row, others: Sequence[tuple[int, ...]]) -> np.ndarray:
    """Semitones that a voice moves to and from the neighbours on the mean, (choices,)."""
    own = [Row([_choice(pitches)]) for pitches in others if _on_the_keys(pitches)]
    if not own:
        return np.zeros(len(row))
    return np.mean([motion(one, row)[0] for one in own], axis=0)


def _on_the_keys(pitches: Sequence[int]) -> bool:
    """Whether a neighbour lies where ways are looked for; others have no say."""
    return pitches[0] >= LOW and pitches[-1] <= HIGH


def _choice(pitches: tuple[int, ...]) -> Choice:
    nothing = Build(degrees=(), heights=pitches, kinds=(), quality="", source="")
    return Choice(build=nothing, pitches=pitches)


def _nearest(
    row: Row, moved: np.ndarray, is_wanted: Callable[[Choice], bool], taken: set[tuple[int, ...]]
) -> int | None:
    fitting = [i for i, one in enumerate(row.chosen) if one.pitches not in taken and is_wanted(one)]
    return min(fitting, key=lambda i: (moved[i], row.chosen[i].pitches), default=None)


def _other(
    why: str, choice: Choice, voicings: Sequence[Voicing], index: int, moved: float
) -> OtherWay:
    made = as_voicing(choice, voicings[index])
    first = max(0, index - 1)
    row = [*voicings[first:index], made, *voicings[index + 1 : index + 2]]
    return OtherWay(why=why, voicing=made, motions=motions(row, None), moved=moved)


def as_voicing(choice: Choice, here: Voicing) -> Voicing:
    """A choice as it would stand where `here` stands, under the same chord."""
    note = here.attack.struck[0]
    notes = tuple(replace(note, midi=pitch, confidence=1.0, line=0.0) for pitch in choice.pitches)
    attack = replace(here.attack, struck=notes)
    chord: ChordSpan = here.chord
    return make_voicing(Sounding(attack=attack, kind="voicing", notes=notes), chord)
