"""What kind of voicing a stack is: several kinds may hold, the first is the primary.

P = p1 < ... < pn are MIDI pitches, gaps their neighbours' distances, intervals their
semitones over the root modulo 12. The definitions are common practice, put into
numbers; thresholds stand as constants. Order of the tests = order of the result.

The 3 is the third that the family has (in a suspended chord the 4); the 7 is the seventh,
or the 6 where a major or minor chord has none, or the bb7 of a diminished chord.
"""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stackline.theory.chords.degrees import MINOR_THIRDS
from stackline.theory.stacks import kinds, triads

OCTAVE = 12  # semitones
SPREAD_FIRST_GAP = 7  # semitones: a fifth or more at the bottom (common practice)
SPREAD_SPAN = 14  # semitones: a ninth or more in all (ours)
FOURTH_GAPS = frozenset({5, 6})
CLUSTER_GAPS = frozenset({1, 2})


@dataclass(frozen=True, kw_only=True)
class Stack:
    """A stack as the tests need it: pitches rising, intervals over the root, family."""

    pitches: tuple[int, ...]
    root_pc: int
    family: str

    @property
    def n(self) -> int:
        return len(self.pitches)

    @property
    def gaps(self) -> tuple[int, ...]:
        return tuple(b - a for a, b in zip(self.pitches, self.pitches[1:], strict=False))

    @property
    def span(self) -> int:
        return self.pitches[-1] - self.pitches[0]

    @property
    def intervals(self) -> tuple[int, ...]:
        return tuple((pitch - self.root_pc) % 12 for pitch in self.pitches)

    @property
    def third(self) -> int:
        if self.family == "suspended":
            return 5
        return 3 if self.family in MINOR_THIRDS else 4

    @property
    def seventh(self) -> int:
        """The interval of the seventh, or of the 6 that stands for it."""
        sounding = set(self.intervals)
        if self.family in ("major", "minor"):
            order = (11, 9) if self.family == "major" else (10, 11, 9)
            return next((one for one in order if one in sounding), order[0])
        return 9 if self.family == "diminished" else 10


def structures(pitches: Sequence[int], root_pc: int, family: str) -> tuple[str, ...]:
    """Every kind that holds, the primary first; at least one.

    pitches: MIDI, at least one. root_pc 0..11. Locked hands need their neighbours: a
    single stack of that build is a block chord (see `locked_runs`).
    """
    stack = Stack(pitches=tuple(sorted(set(pitches))), root_pc=root_pc, family=family)
    if len(set(stack.intervals)) == 1:
        return (kinds.OCTAVES,)
    found = [name for test in _TESTS for name in test(stack)]
    return tuple(found) or (_plain(stack),)


def _shell(stack: Stack) -> list[str]:
    """At most three notes, only R, 3, 7, at least one guide tone."""
    sounding = set(stack.intervals)
    guides = {stack.third, stack.seventh}
    if stack.n > 3 or not sounding <= guides | {0} or not sounding & guides:
        return []
    return [kinds.SHELL if 0 in sounding else kinds.GUIDE_TONES]


def _rootless(stack: Stack) -> list[str]:
    """Three or four different pitch classes without R within an octave, 3 or 7 lowest."""
    sounding = set(stack.intervals)
    if not 3 <= stack.n <= 4 or len(sounding) != stack.n or 0 in sounding:
        return []
    if not {stack.third, stack.seventh} <= sounding or stack.span > OCTAVE:
        return []
    lowest = stack.intervals[0]
    if lowest == stack.third:
        return [kinds.ROOTLESS_4 if stack.family == "suspended" else kinds.ROOTLESS_3]
    if lowest == stack.seventh:
        sixth = lowest == 9 and stack.family != "diminished"
        return [kinds.ROOTLESS_6 if sixth else kinds.ROOTLESS_7]
    return []


def _rootless_open(stack: Stack) -> list[str]:
    """The same wider than an octave; a stack of fourths is called by its fourths."""
    sounding = set(stack.intervals)
    if not 3 <= stack.n <= 4 or len(sounding) != stack.n or 0 in sounding:
        return []
    guides = {stack.third, stack.seventh}
    wide = stack.span > OCTAVE and not _in_fourths(stack.gaps)
    return (
        [kinds.ROOTLESS_OPEN]
        if guides <= sounding and stack.intervals[0] in guides and wide
        else []
    )


def is_close(pitches: Sequence[int]) -> bool:
    """Four different pitch classes, rising, within less than an octave."""
    rising = all(a < b for a, b in itertools.pairwise(pitches))
    return len(pitches) == 4 and rising and pitches[-1] - pitches[0] < OCTAVE


def _block(stack: Stack) -> list[str]:
    """Five notes: a close four-way chord and its lead doubled an octave below."""
    if stack.n == 5 and stack.span == OCTAVE and is_close(stack.pitches[1:]):
        return [kinds.BLOCK]
    return []


def _four_way(stack: Stack) -> list[str]:
    return [kinds.FOUR_WAY] if is_close(stack.pitches) and not _rootless(stack) else []


def _drops(stack: Stack) -> list[str]:
    """A close four-way chord with its 2nd, its 3rd, or its 2nd and 4th note dropped."""
    if stack.n != 4:
        return []
    p1, p2, p3, p4 = stack.pitches
    found = []
    if is_close((p2, p3, p1 + OCTAVE, p4)):
        found.append(kinds.DROP_2)
    if is_close((p2, p1 + OCTAVE, p3, p4)):
        found.append(kinds.DROP_3)
    if is_close((p1 + OCTAVE, p3, p2 + OCTAVE, p4)):
        found.append(kinds.DROP_24)
    return found


def _in_fourths(gaps: Sequence[int]) -> bool:
    return len(gaps) >= 2 and set(gaps) <= FOURTH_GAPS and 5 in gaps


def _fourths(stack: Stack) -> list[str]:
    gaps = stack.gaps
    if _in_fourths(gaps):
        return [kinds.FOURTHS]
    if gaps == (5, 5, 5, 4):
        return [kinds.FOURTHS_THIRD]
    if len(gaps) == 5 and _in_fourths(gaps[:2]) and _in_fourths(gaps[3:]):
        return [kinds.FOURTHS_TWO_HANDS] if gaps[2] <= OCTAVE else []
    return []


def _fifths(stack: Stack) -> list[str]:
    """Two hands of stacked fifths, a semitone (minor) or a whole step (major) apart."""
    if len(stack.gaps) == 5 and stack.gaps[2] in (1, 2):
        return [kinds.FIFTHS_TWO_HANDS] if set(stack.gaps[:2] + stack.gaps[3:]) == {7} else []
    return []


def _slash(stack: Stack) -> list[str]:
    return triads.slash_chord(stack.pitches, stack.root_pc, stack.family)


def _with_triads(stack: Stack) -> list[str]:
    """Whatever else is built of a close triad."""
    where = stack.pitches, stack.root_pc
    return [
        *triads.upper_structure(*where, stack.family),
        *triads.polychord(*where, stack.family),
        *triads.inversion(*where, stack.third),
        *triads.tenth(*where, stack.third),
    ]


def _cluster(stack: Stack) -> list[str]:
    pairs = zip(stack.gaps, stack.gaps[1:], strict=False)
    return [kinds.CLUSTER] if any({a, b} <= CLUSTER_GAPS for a, b in pairs) else []


def _spread(stack: Stack) -> list[str]:
    rooted = stack.intervals[0] == 0 and stack.n >= 4
    wide = stack.span >= SPREAD_SPAN and bool(stack.gaps) and stack.gaps[0] >= SPREAD_FIRST_GAP
    return [kinds.SPREAD] if rooted and wide else []


def _plain(stack: Stack) -> str:
    close = stack.span < OCTAVE
    if 0 in stack.intervals:
        return kinds.ROOTED_CLOSE if close else kinds.ROOTED_OPEN
    return kinds.ROOTLESS_CLOSE if close else kinds.ROOTLESS_OPEN


_TESTS: tuple[Callable[[Stack], list[str]], ...] = (
    _shell,
    _rootless,
    _rootless_open,
    _block,
    _four_way,
    _slash,
    _drops,
    _fourths,
    _fifths,
    _with_triads,
    _cluster,
    _spread,
)


def locked_runs(is_block: Sequence[bool], tops: Sequence[int], *, shortest: int = 3) -> list[bool]:
    """Which block chords are locked hands: `shortest` or more in a row, top by step.

    tops: MIDI pitch of each voicing's top note. A step is 1 or 2 semitones.
    """
    locked = [False] * len(is_block)
    start = 0
    for i in range(1, len(is_block) + 1):
        joined = i < len(is_block) and is_block[i] and is_block[i - 1]
        if joined and 1 <= abs(tops[i] - tops[i - 1]) <= 2:
            continue
        if i - start >= shortest and is_block[start]:
            locked[start:i] = [True] * (i - start)
        start = i
    return locked
