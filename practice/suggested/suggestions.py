"""Ways through a target's chords, each as a target with stacks that lies where it was found."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stackline.practice.suggested.reharmonised import Variant, variants
from stackline.practice.targets.stack import read_degree, spaced
from stackline.practice.targets.targets import Target
from stackline.shared.complaint import Complaint
from stackline.shared.harmony import Degree
from stackline.theory.ways.families import FAMILIES
from stackline.theory.ways.reach import Reach
from stackline.theory.ways.through import Through, Wanted, ways_through

EACH = 2  # ways of a family that are shown; they begin with other degrees outside


@dataclass(frozen=True, kw_only=True)
class Suggestion:
    """One way. family: how it is voiced. target: its chords with their stacks, in `key`.

    pitches: rising MIDI, a row a chord. moved: semitones a voice moves from chord to chord.
    variant: the other chords that it is played with; None for the chords that were given.
    """

    family: str
    target: Target
    key: int
    pitches: tuple[tuple[int, ...], ...]
    moved: float
    variant: Variant | None = None


def suggestions(
    target: Target, key: int, reach: Reach, tops: Sequence[str] = ()
) -> tuple[Suggestion, ...]:
    """Ways to play a target in one key, in the order of the families, nearest first.

    tops: the degree on top of each chord, to voice a melody; empty where it is free. Raises
    Complaint where nothing within reach has these tops.
    """
    found = _ways(target, key, reach, _tops(target, tops))
    if not found:
        asked = f" with {' '.join(tops)} on top" if tops else ""
        raise Complaint(
            f"no voicing within reach of {reach.hands} hands{asked} for every chord: "
            "try --hands any, a longer --reach, or other degrees"
        )
    return found


def reharmonised(target: Target, key: int, reach: Reach) -> tuple[Suggestion, ...]:
    """The nearest way through each variant of the chords."""
    found = []
    for variant in variants(target):
        ways = _ways(variant.target, key, reach, ())
        found += [replace(one, variant=variant) for one in ways[:1]]
    return tuple(found)


def _tops(target: Target, tops: Sequence[str]) -> tuple[str | None, ...]:
    if tops and len(tops) != len(target.chords):
        raise Complaint(
            f"{len(tops)} degrees on top for {len(target.chords)} chords: give one for each"
        )
    if tops:
        return tuple(str(read_degree(one)) for one in tops)
    return tuple(str(chord.top) if chord.top else None for chord in target.chords)


def _ways(
    target: Target, key: int, reach: Reach, tops: Sequence[str | None]
) -> tuple[Suggestion, ...]:
    wanted = [
        Wanted(root_pc=chord.root_pc(key), quality=chord.quality, top=tops[i] if tops else None)
        for i, chord in enumerate(target.chords)
    ]
    ways = ways_through(wanted, reach)
    kept = [
        way
        for family in FAMILIES
        for way in [one for one in ways if one.family == family.name][:EACH]
    ]
    return tuple(_suggestion(target, key, way) for way in kept)


def _suggestion(target: Target, key: int, way: Through) -> Suggestion:
    chords = tuple(
        replace(
            chord,
            quality=choice.build.quality,
            stack=spaced([Degree.parse(one) for one in choice.build.degrees], choice.pitches),
            top=None,
        )
        for chord, choice in zip(target.chords, way.chosen, strict=True)
    )
    return Suggestion(
        family=way.family,
        target=replace(target, chords=chords),
        key=key,
        pitches=tuple(choice.pitches for choice in way.chosen),
        moved=way.moved,
    )
