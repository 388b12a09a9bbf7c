"""The changes of a take as a grid: bars with their chords and stacks, and brackets over cadences.

A chord stands in the bar and on the beat that it belongs to, an anticipated one in the bar that it
anticipates (`stackline.shared.rhythm`); where there are no bars, at its time in the stretches of
`chart_slots`. A bracket reaches from the first to the last chord of a cadence that theory
finds (`stackline.theory.form.cadences`) and names its key. What is unsure is marked; a cadence
that rests on an unsure name is unsure itself.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from stackline.report.contents.chart_slots import BAR_W, Slot, slots_of
from stackline.report.words.marks import doubts, stack_text
from stackline.shared.rhythm import ChordPlace
from stackline.shared.take import Take
from stackline.shared.units import clock
from stackline.theory.chords.spelling import with_signs
from stackline.theory.form.cadences import Cadence, cadences
from stackline.theory.form.harmonic_rhythm import harmonic_rhythm

Place = tuple[int, int]  # the number of a bar and of a chord in it, both from 0


@dataclass(frozen=True, kw_only=True)
class GridChord:
    """A chord in its bar. x: where, 0..1; width: up to the next chord or the bar's end.

    index: its first voicing. stack: that voicing's degrees. others: how many other stacks
    follow it under the same chord.
    """

    x: float
    width: float
    symbol: str
    stack: str
    others: int
    unsure: bool
    index: int


@dataclass(frozen=True, kw_only=True)
class GridBar:
    """title: the bar's number, or a clock time. goes_on: a chord from before still holds."""

    title: str
    chords: tuple[GridChord, ...]
    goes_on: bool
    out_of_time: bool


@dataclass(frozen=True, kw_only=True)
class GridBracket:
    """A cadence, from its first chord to its last.

    lane: from 0; brackets of one lane share no chord.
    """

    label: str
    first: Place
    last: Place
    lane: int
    unsure: bool


@dataclass(frozen=True, kw_only=True)
class ChangesGrid:
    """Bars in order, and the brackets over them."""

    bars: tuple[GridBar, ...] = ()
    brackets: tuple[GridBracket, ...] = ()


def changes_grid(take: Take) -> ChangesGrid:
    """The grid of a take, from the bar of its first chord on; empty where it has no voicings."""
    if not take.voicings:
        return ChangesGrid()
    slots = [slot for slot in slots_of(take) if slot.end_s > slot.start_s]
    slots = slots or [Slot(title=clock(0.0), start_s=0.0, end_s=1.0, beats_s=())]  # no time at all
    chords = take.rhythm.chords or harmonic_rhythm(
        take.voicings, take.grid, end_s=take.source.duration_s
    ).chords  # fmt: skip
    homes = _homes(take, slots, chords)
    first = homes[0][0]
    bars: list[GridBar] = []
    for number, slot in enumerate(slots[first:], start=first):
        inside = [i for i, (home, _) in enumerate(homes) if home == number]
        edges = [*(homes[i][1] for i in inside), 1.0]
        made = [_chord(take, chords[i], edges[k], edges[k + 1]) for k, i in enumerate(inside)]
        goes_on = number > first and not (made and made[0].x == 0)
        bars.append(GridBar(title=slot.title, chords=tuple(made), goes_on=goes_on,
                            out_of_time=slot.out_of_time))  # fmt: skip
    return ChangesGrid(bars=tuple(bars), brackets=_brackets(take, bars))


def _homes(
    take: Take, slots: Sequence[Slot], chords: Sequence[ChordPlace]
) -> list[tuple[int, float]]:
    """The bar of each chord, by its index, and where in it, 0..1; never before the last one's."""
    starts = [slot.start_s for slot in slots]
    homes: list[tuple[int, float]] = []
    for chord in chords:
        at = max(bisect_right(starts, chord.start_s) - 1, 0)
        home = at, min(max(slots[at].x(chord.start_s) / BAR_W, 0.0), 1.0)
        if chord.position is not None:
            title = str(chord.position.bar)
            part = float(chord.position.beat - 1) / take.grid.beats_per_bar
            near = [i for i in (at, at + 1, at - 1) if 0 <= i < len(slots)]
            home = next(((i, min(part, 1.0)) for i in near if slots[i].title == title), home)
        homes.append(max(home, homes[-1]) if homes else home)
    return homes


def _chord(take: Take, chord: ChordPlace, x: float, end: float) -> GridChord:
    inside = take.voicings[chord.voicing : chord.voicing + chord.voicings]
    stacks = list(dict.fromkeys(stack_text(voicing) for voicing in inside))
    return GridChord(
        x=x,
        width=end - x,
        symbol=with_signs(inside[0].chord.symbol.text),
        stack=with_signs(stacks[0]),
        others=len(stacks) - 1,
        unsure=any(doubts(voicing) for voicing in inside),
        index=chord.voicing,
    )


def _brackets(take: Take, bars: Sequence[GridBar]) -> tuple[GridBracket, ...]:
    places = [(b, c) for b, bar in enumerate(bars) for c in range(len(bar.chords))]
    firsts = [bars[b].chords[c].index for b, c in places]
    taken: list[Place] = []  # the last chord of each lane
    brackets = []
    for cadence in cadences(take.voicings):
        first, last = (
            places[max(bisect_right(firsts, i) - 1, 0)] for i in (cadence.first, cadence.last)
        )
        lane = next((i for i, end in enumerate(taken) if end < first), len(taken))
        taken[lane : lane + 1] = [last]
        named = take.voicings[cadence.first : cadence.last + 1]
        brackets.append(
            GridBracket(
                label=_label(cadence),
                first=first,
                last=last,
                lane=lane,
                unsure=any("name" in doubts(voicing) for voicing in named),
            )
        )
    return tuple(brackets)


def _label(cadence: Cadence) -> str:
    """Its name with its key: ``ii-V-I in D♭ major``, ``ii-V in F major, incomplete``."""
    name, comma, rest = cadence.name.partition(", ")
    for mode in (" in major", " in minor"):
        name = name.removesuffix(mode)
    key = f"{with_signs(cadence.key.tonic)} {'minor' if cadence.key.minor else 'major'}"
    return f"{name} in {key}{comma}{rest}"
