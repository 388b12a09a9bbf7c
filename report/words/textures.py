"""What was played where: comping, a line over it, a line alone, in a sentence.

A line's stretch goes from its first note to its last, as long as it rests for no more than
`REST_S`; a few stray notes make none. Comping of which one hand reaches `LEFT` of the voicings is
left-hand comping.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from stackline.report.words.take_view import TakeView
from stackline.shared.notes import Attack
from stackline.shared.take import Take
from stackline.theory.stacks.hands import is_in_reach

REST_S = 8.0
FEWEST, SHORTEST_S = 6, 4.0  # notes and seconds that make a stretch
LEFT = 0.8

Texture = Literal["comping", "a line over left-hand comping", "a line over comping", "a line alone"]


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A stretch of one texture, by its first and last attack."""

    texture: Texture
    first: Attack
    last: Attack


def stretches(take: Take) -> tuple[Stretch, ...]:
    """The stretches of a take in order; one where no line is played."""
    lined = [i for i, attack in enumerate(take.attacks) if attack.line]
    found: list[Stretch] = []
    at = 0
    for first, last in _phrases(take.attacks, lined):
        if any(attack.comped for attack in take.attacks[at:first]):
            found.append(_comping(take.attacks[at:first]))
        found.append(_lined(take, take.attacks[first : last + 1]))
        at = last + 1
    if any(attack.comped for attack in take.attacks[at:]) and (at or not found):
        found.append(_comping(take.attacks[at:]))
    return tuple(_joined(found))


def _phrases(attacks: Sequence[Attack], lined: Sequence[int]) -> Iterator[tuple[int, int]]:
    """First and last attack of each stretch of a line."""
    start = 0
    for k in range(1, len(lined) + 1):
        rests = k < len(lined) and (
            attacks[lined[k]].onset_s - attacks[lined[k - 1]].onset_s <= REST_S
        )
        if not rests:
            row = lined[start:k]
            if row and _is_long(attacks, row):
                yield row[0], row[-1]
            start = k


def _is_long(attacks: Sequence[Attack], row: Sequence[int]) -> bool:
    lasts_s = attacks[row[-1]].onset_s - attacks[row[0]].onset_s
    return len(row) >= FEWEST and lasts_s >= SHORTEST_S


def _comping(attacks: Sequence[Attack]) -> Stretch:
    comped = [attack for attack in attacks if attack.comped]
    return Stretch(texture="comping", first=comped[0], last=comped[-1])


def _lined(take: Take, attacks: Sequence[Attack]) -> Stretch:
    inside = set(attacks)
    under = [voicing for voicing in take.voicings if voicing.attack in inside]
    left = sum(is_in_reach(voicing.pitches) for voicing in under)
    texture: Texture = "a line over comping"
    if not under:
        texture = "a line alone"
    elif left >= LEFT * len(under):
        texture = "a line over left-hand comping"
    return Stretch(texture=texture, first=attacks[0], last=attacks[-1])


def _joined(found: Sequence[Stretch]) -> Iterator[Stretch]:
    """Neighbours of one texture as one."""
    waiting: Stretch | None = None
    for one in found:
        if waiting is not None and waiting.texture == one.texture:
            waiting = Stretch(texture=one.texture, first=waiting.first, last=one.last)
            continue
        if waiting is not None:
            yield waiting
        waiting = one
    if waiting is not None:
        yield waiting


def textures(view: TakeView) -> str:
    """``From bar 1: comping; from bar 9: a line over left-hand comping.``; empty without a line."""
    found = stretches(view.take)
    if all(one.texture == "comping" for one in found):
        return ""
    if len(found) == 1:
        text = found[0].texture
        return f"{text[:1].upper()}{text[1:]}, throughout."
    told = [f"from {view.places.start(one.first)}: {one.texture}" for one in found]
    return f"F{'; '.join(told)[1:]}."
