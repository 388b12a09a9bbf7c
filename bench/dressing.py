"""Changes dressed as players voice them: eight ways, led smoothly.

The stacks are written here from published ones and from definitions, not taken from
`theory.shapes`, which the labeller knows: four notes without the root [piano.org, pianounderstand.com,
@tonaljs/voicing-dictionary 5.1.2, MIT], shells [earlmacdonald.com], block chords
[thejazzpianosite.com], drop 2 [outsideshore.com], fourths [jazztutorial.com, greglui.com,
piano.org], upper structures [johncarlosbaez.wordpress.com/2023/02/16], spreads [a textbook
chapter on spread voicings]; else common practice. Free voicings come from no list.

Each chord takes the stack, octave and spacing in which its notes move least from the chord
before, or the second or third best, drawn.
"""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from theory.degrees import pitch_class
from theory.qualities import quality
from theory.spelling import pitch_class_of
from theory.symbols import parse_symbol

Chord = tuple[int, str]  # root pitch class, quality key


@dataclass(frozen=True, kw_only=True)
class Dressed:
    """One voicing with its truth: pitches low to high, root pitch class, family."""

    pitches: tuple[int, ...]
    root_pc: int
    family: str

    @property
    def rooted(self) -> bool:
        """Whether the root is the lowest note."""
        return self.pitches[0] % 12 == self.root_pc


# What is meant when a lead sheet says no more: a class of chord for each quality.
_CLASSES = {
    "": "major", "maj7": "major", "6": "sixth", "6/9": "sixth", "maj9": "major", "+": "augmented",
    "m7": "minor", "m9": "minor", "m": "tonic minor", "m6": "tonic minor", "mMaj7": "minor major",
    "7": "plain", "9": "plain", "13": "plain", "7alt": "altered", "7(b9)": "flat nine",
    "7sus": "sus", "m7b5": "half", "dim7": "diminished",
}  # fmt: skip

ROOTLESS = {
    "major": ("3 5 7 9", "7 9 3 5", "3 5 6 9", "6 9 3 5"), "sixth": ("3 5 6 9", "6 9 3 5"),
    "augmented": ("3 #5 R", "#5 R 3"), "minor": ("b3 5 b7 9", "b7 9 b3 5"),
    "tonic minor": ("b3 5 6 9", "6 9 b3 5"), "minor major": ("b3 5 7 9", "7 9 b3 5"),
    "plain": ("3 13 b7 9", "b7 9 3 13", "3 5 b7 9", "b7 9 3 5"),
    "altered": ("3 b13 b7 b9", "b7 b9 3 b13", "b7 #9 3 b13", "3 b13 b7 #9"),
    "flat nine": ("3 5 b7 b9", "b7 b9 3 5", "3 13 b7 b9", "b7 b9 3 13"),
    "sus": ("4 5 b7 9", "b7 9 4 5", "4 13 b7 9", "b7 9 4 13"),
    "half": ("b3 b5 b7 R", "b7 R b3 b5"), "diminished": ("R b3 b5 bb7", "b5 bb7 R b3"),
}  # fmt: skip
ROOTED = {
    "major": ("R 3 5 7", "R 5 7 3", "R 7 3 5", "R 3 7 9"),
    "sixth": ("R 3 5 6", "R 5 6 3", "R 6 3 5", "R 3 6 9"), "augmented": ("R 3 #5", "R #5 3"),
    "minor": ("R b3 5 b7", "R 5 b7 b3", "R b7 b3 5", "R b3 b7 9"),
    "tonic minor": ("R b3 5 6", "R 5 6 b3", "R 6 b3 5"),
    "minor major": ("R b3 5 7", "R 5 7 b3", "R 7 b3 5"),
    "plain": ("R 3 5 b7", "R 5 b7 3", "R b7 3 5", "R b7 3 13", "R b7 9 3"),
    "altered": ("R b7 3 b13", "R 3 b7 #9", "R b7 b9 3 b13"),
    "flat nine": ("R 3 b7 b9", "R 3 5 b7 b9", "R b7 b9 3"),
    "sus": ("R 4 5 b7", "R 5 b7 4", "R b7 9 4", "R 4 b7 9 5"), "half": ("R b3 b5 b7", "R b5 b7 b3"),
    "diminished": ("R b3 b5 bb7", "R b5 bb7 b3"),
}  # fmt: skip
BLOCK = {  # the lead doubled an octave below
    "major": ("5 6 R 3 5", "R 3 5 6 R", "3 5 6 R 3", "7 9 3 5 7", "3 5 7 9 3"),
    "sixth": ("5 6 R 3 5", "R 3 5 6 R", "3 5 6 R 3", "6 R 3 5 6"),
    "augmented": ("R 3 #5 R", "3 #5 R 3"),
    "minor": ("R b3 5 b7 R", "b3 5 b7 R b3", "5 b7 R b3 5", "b7 R b3 5 b7", "b7 9 b3 5 b7"),
    "tonic minor": ("R b3 5 6 R", "b3 5 6 R b3", "5 6 R b3 5"),
    "minor major": ("R b3 5 7 R", "b3 5 7 R b3"),
    "plain": ("R 3 5 b7 R", "3 5 b7 R 3", "5 b7 R 3 5", "b7 9 3 5 b7", "3 13 b7 9 3"),
    "altered": ("3 b13 b7 b9 3", "b7 #9 3 b13 b7"), "flat nine": ("3 5 b7 b9 3", "b9 3 5 b7 b9"),
    "sus": ("5 b7 R 4 5", "4 5 b7 R 4", "4 5 b7 9 4"),
    "half": ("b3 b5 b7 R b3", "R b3 b5 b7 R", "b5 b7 R b3 b5"),
    "diminished": ("R b3 b5 bb7 R", "b3 b5 bb7 R b3"),
}  # fmt: skip
FOURTHS = {
    "major": ("3 6 9 5", "3 6 9 5 R", "7 3 13 9", "3 13 9 5 7"),
    "sixth": ("3 6 9 5", "3 6 9 5 R", "R 3 6 9"), "augmented": ("R 3 #5", "3 #5 R"),
    "minor": ("R 11 b7 b3 5", "5 R 11 b7", "R 11 b7 b3"), "tonic minor": ("b3 6 9 5", "9 5 R 11 6"),
    "minor major": ("b3 7 9 5", "R b3 7"), "plain": ("b7 3 13 9", "3 b7 9 13", "b7 3 13 9 5"),
    "altered": ("b7 3 b13 #9", "3 b7 #9 b13"), "flat nine": ("b7 3 13 b9", "3 b7 b9 5"),
    "sus": ("5 R 4 b7", "R 4 b7 9", "b7 4 13 9"), "half": ("b5 R b3 b7", "R 11 b7 b3 b5"),
    "diminished": ("R b5 bb7 b3", "b3 bb7 R b5"),
}  # fmt: skip
UPPER = {
    "major": ("3 7 9 5 7", "3 7 9 #11 13", "R 3 7 9 5"), "sixth": ("3 6 9 5 6", "R 3 6 9 5"),
    "augmented": ("R 3 #5",), "minor": ("b3 b7 9 5 b7", "R b3 b7 9 11", "R b7 b3 5 b7"),
    "tonic minor": ("b3 6 9 5 R", "R b3 6 9 5"), "minor major": ("b3 7 9 5 7",),
    "plain": ("3 b7 9 #11 13", "3 b7 9 13 3", "R b7 3 9 #11 13"),
    "altered": ("3 b7 #9 b13 R", "b7 3 b13 R #9", "3 b7 b9 3 b13", "3 b7 b9 #11 b7"),
    "flat nine": ("3 b7 b9 3 13", "b7 3 13 b9 3 13", "3 b7 b9 #11 13"),
    "sus": ("R b7 9 4", "R 4 b7 9 4 13", "4 b7 9 4 13"), "half": ("b3 b7 b5 R b3", "R b7 b3 b5 11"),
    "diminished": ("R b5 bb7 b3 b5",),
}  # fmt: skip
SPREAD = {
    "major": ("R 7 3 5 9", "R 5 3 7", "R 5 3 6 9"), "sixth": ("R 5 3 6 9", "R 6 3 5", "R 5 3 6"),
    "augmented": ("R #5 3", "R #5 3 #5"), "minor": ("R b7 b3 5 9", "R 5 b3 b7", "R b7 b3 5"),
    "tonic minor": ("R 6 b3 5 9", "R 5 b3 6", "R 5 b3 6 9"),
    "minor major": ("R 5 b3 7", "R 7 b3 5 9"),
    "plain": ("R b7 3 5 9", "R b7 3 13 9", "R 5 3 b7", "R b7 3 5"),
    "altered": ("R b7 3 b13 #9", "R b7 3 b13 R #9", "R b7 3 b9 b13"),
    "flat nine": ("R b7 3 5 b9", "R b7 3 13 b9"), "sus": ("R b7 4 5 9", "R 5 4 b7", "R b7 9 4 13"),
    "half": ("R b5 b3 b7", "R b7 b3 b5"), "diminished": ("R b5 b3 bb7", "R bb7 b3 b5"),
}  # fmt: skip
TONES = {  # what a free voicing may hold: guide tones first, then the rest, oftener first
    "major": ("3 7", "5 9 13 R #11"), "sixth": ("3 6", "5 9 R"), "augmented": ("3 #5", "R"),
    "minor": ("b3 b7", "5 9 11 R"), "tonic minor": ("b3 6", "5 9 R 11"),
    "minor major": ("b3 7", "5 9 R"), "plain": ("3 b7", "9 13 5 R"),
    "altered": ("3 b7", "b13 #9 b9 R #11"), "flat nine": ("3 b7", "b9 13 5 R"),
    "sus": ("4 b7", "9 5 13 R"), "half": ("b3 b7", "b5 11 R"), "diminished": ("b3 bb7", "R b5"),
}  # fmt: skip
LOW, HIGH = 45, 64  # where the lowest note of an ordinary voicing may lie
LOW_SPREAD, HIGH_SPREAD = 33, 50


def chords_of(text: str, *, up: int = 0) -> list[Chord]:
    """The chords of a form moved up by semitones."""
    symbols = [parse_symbol(word) for word in text.split()]
    return [((pitch_class_of(one.root) + up) % 12, one.quality) for one in symbols]


def chord_classes(chords: Sequence[Chord], rng: random.Random) -> list[str]:
    """Each chord's class. A plain 7 before a minor chord a fifth below is mostly altered, and

    before a major one at times (common practice).
    """
    found = []
    for i, (root, key) in enumerate(chords):
        kind = _CLASSES[key]
        following = chords[i + 1] if i + 1 < len(chords) else (root, "")
        if kind == "plain" and following[0] == (root + 5) % 12:
            minor = quality(following[1]).family in ("minor", "half-diminished")
            if rng.random() < (0.5 if minor else 0.15):
                kind = rng.choice(("altered", "flat nine"))
        found.append(kind)
    return found


def stacked(text: str, root_pc: int, lowest: int) -> tuple[int, ...]:
    """Degrees low to high over a root, each the nearest above the one before; from `lowest` up."""
    placed: list[int] = []
    for degree in text.split():
        pc = (root_pc + pitch_class(degree)) % 12
        floor = placed[-1] + 1 if placed else lowest
        placed.append(floor + (pc - floor) % 12)
    return tuple(placed)


Options = Callable[[int, str, random.Random], list[tuple[int, ...]]]


def _from_table(table: dict[str, tuple[str, ...]], low: int = LOW, high: int = HIGH) -> Options:
    """Every stack of a table in every octave whose lowest note lies between low and high."""

    def options(root_pc: int, kind: str, _: random.Random) -> list[tuple[int, ...]]:
        placed = {
            stacked(text, root_pc, lowest)
            for text in table[kind]
            for lowest in range(low, high - 11)
        }
        return sorted(placed)

    return options


def _shells(root_pc: int, kind: str, _: random.Random) -> list[tuple[int, ...]]:
    """Two guide tones, either below."""
    low, high = TONES[kind][0].split()
    return sorted(
        stacked(text, root_pc, lowest)
        for text in (f"{low} {high}", f"{high} {low}")
        for lowest in range(48, 57)
    )


def _rooted_shells(root_pc: int, kind: str, _: random.Random) -> list[tuple[int, ...]]:
    """Root, then 7 and 3 or 3 and 7."""
    low, high = TONES[kind][0].split()
    return sorted(
        stacked(text, root_pc, lowest)
        for text in (f"R {high} {low}", f"R {low} {high}")
        for lowest in range(40, 49)
    )


def _free(needed: bool) -> Options:
    """Three to six notes of the chord's in any order and spacing; the guide tones if needed."""

    def options(root_pc: int, kind: str, rng: random.Random) -> list[tuple[int, ...]]:
        guides, others = (text.split() for text in TONES[kind])
        found = []
        for _ in range(24):
            count = rng.randrange(3, 7)
            weights = [1.0 / (i + 1) ** 0.5 for i in range(len(others))]
            if needed:
                chosen = list(guides)
            else:
                chosen = [rng.choice(guides), *rng.sample(others, 1)]
                others_left = [one for one in (*guides, *others) if one not in chosen]
                chosen += rng.sample(others_left, 1) if others_left else []
            while len(chosen) < count:
                chosen.append(rng.choices([*others, *guides], weights=[*weights, 0.3, 0.3])[0])
            rng.shuffle(chosen)
            found.append(stacked(" ".join(chosen), root_pc, rng.randrange(LOW, HIGH - 4)))
        playable = [one for one in found if one[-1] - one[0] <= 34 and one[-1] <= 88]
        return playable or found

    return options


WAYS: dict[str, Options] = {
    "rootless": _from_table(ROOTLESS, 47),
    "rooted": _from_table(ROOTED),
    "shells": _shells,
    "rooted shells": _rooted_shells,
    "block": _from_table(BLOCK, 50, 70),
    "fourths": _from_table(FOURTHS),
    "upper structures": _from_table(UPPER, 43, 60),
    "spread": _from_table(SPREAD, LOW_SPREAD, HIGH_SPREAD),
    "free with 3 and 7": _free(needed=True),
    "free": _free(needed=False),
}
MIXED = "rooted amid rootless"
ROOTED_SHARE = 0.3


def dressed(chords: Sequence[Chord], way: str, rng: random.Random) -> list[Dressed]:
    """The chords voiced in one way of WAYS, or MIXED: rootless with rooted ones strewn in."""
    found: list[Dressed] = []
    before: tuple[int, ...] = ()
    for (root, key), kind in zip(chords, chord_classes(chords, rng), strict=True):
        name = way
        if way == MIXED:
            name = "rooted" if rng.random() < ROOTED_SHARE else "rootless"
        options = WAYS[name](root, kind, rng)
        best = sorted(options, key=lambda one: (movement(before, one), one))[:3]
        before = rng.choices(best, weights=(6, 2, 1)[: len(best)])[0]
        found.append(Dressed(pitches=tuple(sorted(set(before))), root_pc=root,
                             family=quality(key).family))  # fmt: skip
    return found


def movement(before: Sequence[int], after: Sequence[int]) -> float:
    """How far the notes travel, each to the nearest of the other chord; the first aims at C4."""
    if not before:
        return abs(sum(after) / len(after) - 60.0)
    there = sum(min(abs(a - b) for b in after) for a in before) / len(before)
    back = sum(min(abs(a - b) for a in before) for b in after) / len(after)
    return there + back
