"""Targets: what a player means to play, in any key.

A target is a row of chords, each a distance from the tonic and a quality, with or without
a degree stack (see `stack`). From the stacks follows where
every note lies once the first is placed: each voicing takes the octave in which its notes
move least from the voicing before (common practice: smooth voice leading).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from stackline.practice.targets.numerals import key_name, numeral_name
from stackline.practice.targets.stack import Stack, heights, stack_text
from stackline.shared.harmony import ChordSymbol, Degree
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.chords.keys import Key, root_in_key
from stackline.theory.chords.qualities import Quality, quality
from stackline.theory.chords.symbols import make_symbol
from stackline.theory.stacks.frames import asked, guide_tones

DOMINANTS = frozenset({"dominant", "suspended"})


@dataclass(frozen=True, kw_only=True)
class TargetChord:
    """One chord of a target.

    offset: semitones of its root above the tonic, 0..11. quality: key of
    `qualities`. beats: how long it holds. stack: degrees low to high (see `stack`);
    empty where any voicing of the chord will do. top: the degree meant on top.
    in_minor: whether the tonic of its target is minor, for spelling; `Target` sets it.
    """

    offset: int
    quality: str
    beats: Fraction = Fraction(4)
    stack: Stack = ()
    top: Degree | None = None
    in_minor: bool = False

    @property
    def row(self) -> Quality:
        """The quality's row in the table."""
        return quality(self.quality)

    @property
    def degrees(self) -> tuple[Degree, ...]:
        """The stack's degrees, wherever they lie."""
        return tuple(one.degree for one in self.stack)

    @property
    def heights(self) -> tuple[int, ...]:
        """The stack's semitones above the root below it."""
        return heights(self.stack)

    @property
    def intended_top(self) -> Degree | None:
        """The degree meant on top: as written, or the stack's highest."""
        return self.top or (self.degrees[-1] if self.stack else None)

    @property
    def guide_tones(self) -> tuple[str, ...]:
        """The chord's 3 (4 in a suspended chord) and its 7, 6 or bb7, as degrees."""
        return guide_tones(self.row)

    @property
    def needed(self) -> tuple[Degree, ...]:
        """What must sound: the whole stack, else what the symbol asks for (see `frames`)."""
        if self.stack:
            return tuple(dict.fromkeys(self.degrees))
        return tuple(dict.fromkeys(Degree.parse(group[0]) for group in asked(self.row)))

    @property
    def needed_classes(self) -> frozenset[int]:
        """Pitch classes above the tonic of what must sound, and of what may stand for it."""
        found = (
            map(pitch_class, self.degrees)
            if self.stack
            else (pitch_class(one) for group in asked(self.row) for one in group)
        )
        return frozenset((self.offset + one) % 12 for one in found)

    def root_pc(self, tonic_pc: int) -> int:
        """The root's pitch class in a key."""
        return (self.offset + tonic_pc) % 12

    def symbol(self, tonic_pc: int) -> ChordSymbol:
        """The chord's symbol in a key."""
        key = Key(tonic=key_name(tonic_pc, minor=self.in_minor), minor=self.in_minor)
        root_pc = self.root_pc(tonic_pc)
        following = (root_pc + self._usual_step()) % 12
        root = root_in_key(root_pc, key, self.row.family, next_root_pc=following)
        return make_symbol(root, self.quality)

    def _usual_step(self) -> int:
        """Semitones to where such a chord leads on the whole, for spelling."""
        if self.row.family == "diminished":
            return 1
        return 11 if self.row.family == "dominant" and self.offset == 1 else 5

    def name(self) -> str:
        """The chord as a degree of the key: ``V13(b9)``."""
        return self._numeral() + self.quality

    def _numeral(self) -> str:
        return numeral_name(self.offset, rising=self.row.family == "diminished")


@dataclass(frozen=True, kw_only=True)
class Target:
    """A named row of chords. tempo_bpm: the tempo to reach, None where it is free.

    source: where it stands in print, or "common practice", or "own".
    """

    name: str
    chords: tuple[TargetChord, ...]
    tempo_bpm: float | None = None
    source: str = "own"

    def __post_init__(self) -> None:
        """Let every chord know the mode of its key."""
        minor = self.minor
        chords = tuple(replace(chord, in_minor=minor) for chord in self.chords)
        object.__setattr__(self, "chords", chords)

    @property
    def minor(self) -> bool:
        """Whether the last chord on the tonic is minor."""
        tonics = [chord for chord in self.chords if chord.offset == 0]
        return bool(tonics) and tonics[-1].row.family == "minor"

    @property
    def has_stacks(self) -> bool:
        """Whether every chord says how it is voiced."""
        return all(chord.stack for chord in self.chords)

    @property
    def beats(self) -> tuple[Fraction, ...]:
        """How long each chord holds."""
        return tuple(chord.beats for chord in self.chords)

    @cached_property
    def places(self) -> tuple[tuple[int, ...], ...]:
        """Pitches of every voicing with the tonic at 0, the octave free but common to all.

        Empty for a chord without a stack.
        """
        placed: list[tuple[int, ...]] = []
        before: tuple[int, ...] = ()
        for chord in self.chords:
            here = tuple(chord.offset + height for height in chord.heights)
            if here and before:
                here = nearest_octave(here, before)
            placed.append(here)
            before = here or before
        return tuple(placed)

    def symbols(self, tonic_pc: int) -> tuple[str, ...]:
        """The chord symbols in a key."""
        return tuple(chord.symbol(tonic_pc).text for chord in self.chords)

    def stack_texts(self) -> tuple[str, ...]:
        """Each chord's stack as text; "any" without one."""
        return tuple(stack_text(chord.stack) or "any voicing" for chord in self.chords)


def movement(before: Sequence[int], after: Sequence[int]) -> int:
    """Semitones that two voicings' notes travel: each to the nearest of the other, both ways."""
    there = sum(min(abs(a - b) for b in after) for a in before)
    back = sum(min(abs(a - b) for a in before) for b in after)
    return there + back


def nearest_octave(pitches: tuple[int, ...], before: Sequence[int]) -> tuple[int, ...]:
    """A voicing moved by octaves to where its notes travel least from the one before."""
    guess = round((sum(before) / len(before) - sum(pitches) / len(pitches)) / 12)
    tries = [tuple(p + 12 * (guess + turn) for p in pitches) for turn in (0, -1, 1)]
    return min(tries, key=lambda one: (movement(before, one), abs(one[-1] - before[-1])))
