"""Progressions for the labeller's bench: generated from a seed, and common forms as data.

A progression is a list of bars' chords (symbol texts). `generated` draws ii-V-I and its
relatives in all keys; `FORMS` are common forms written from memory (common practice: blues,
minor blues, rhythm changes, cycles, ladders, vamps, back-door endings), without titles. `voiced`
plays a progression with shapes of `theory.shapes`, each voicing the nearest one to the
voicing before, as players do.
"""

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from theory.qualities import quality
from theory.shapes import Shape, realise, shapes
from theory.spelling import PLAIN_NAMES, pitch_class_of
from theory.symbols import parse_symbol


@dataclass(frozen=True, kw_only=True)
class Played:
    """One voicing with its truth: pitches low to high, root pitch class, family, shape kind."""

    pitches: tuple[int, ...]
    root_pc: int
    family: str
    quality: str
    kind: str
    rootless: bool


MAJORS = ("maj7", "maj9", "6", "6/9", "maj13", "maj9(#11)")
MINOR_SEVENTHS = ("m7", "m9", "m11")
TONIC_MINORS = ("m6", "m6/9", "mMaj9", "m9", "m7")
PLAIN_DOMINANTS = ("7", "9", "13")
ALTERED = ("7(b9)", "13(b9)", "7(b9,b13)", "7(#9,b13)", "7(#9)", "9(b13)")
DOMINANTS = PLAIN_DOMINANTS * 2 + ALTERED
SUBSTITUTES = ("9", "13", "9(#11)", "13(#11)")
SUSPENDED = ("9sus", "13sus")
HALF_DIMINISHED = ("m7b5", "m9b5", "m11b5")

# Weight, then semitones over the tonic and a pool of qualities, chord by chord. Weights
# follow the shares of root motion in real changes: a fourth up is every second move.
PATTERNS: dict[str, tuple[float, tuple[tuple[int, tuple[str, ...]], ...]]] = {
    "ii-V-I": (6, ((2, MINOR_SEVENTHS), (7, DOMINANTS), (0, MAJORS))),
    "ii-V-i": (3, ((2, HALF_DIMINISHED), (7, ALTERED), (0, TONIC_MINORS))),
    "ii-V": (2, ((2, MINOR_SEVENTHS), (7, DOMINANTS))),
    "I-vi-ii-V": (
        2, ((0, MAJORS), (9, MINOR_SEVENTHS), (2, MINOR_SEVENTHS), (7, DOMINANTS)),
    ),
    "I-VI-ii-V": (2, ((0, MAJORS), (9, ALTERED), (2, MINOR_SEVENTHS), (7, DOMINANTS))),
    "iii-VI-ii-V-I": (
        2,
        ((4, MINOR_SEVENTHS), (9, ALTERED), (2, MINOR_SEVENTHS), (7, DOMINANTS), (0, MAJORS)),
    ),
    "tritone": (1, ((2, MINOR_SEVENTHS), (1, SUBSTITUTES), (0, MAJORS))),
    "back-door": (1, ((5, MINOR_SEVENTHS), (10, PLAIN_DOMINANTS), (0, MAJORS))),
    "sus": (0.5, ((7, SUSPENDED), (7, DOMINANTS), (0, MAJORS))),
    "V of V": (1, ((2, DOMINANTS), (7, DOMINANTS), (0, MAJORS))),
    "IV-iv-I": (1, ((0, MAJORS), (5, MAJORS), (5, ("m6", "m6/9")), (0, MAJORS))),
    "dim": (0.5, ((0, MAJORS), (1, ("dim7",)), (2, MINOR_SEVENTHS), (7, DOMINANTS))),
}  # fmt: skip

FORMS: dict[str, str] = {
    "blues in F": "F7 Bb7 F7 F7 Bb7 Bb7 F7 D7(#9,b13) Gm9 C13 F7 C13",
    "blues in Bb with ii-V": (
        "Bb13 Eb9 Bb13 Fm9 Bb13 Eb9 Edim7 Bb13 Dm7b5 G7(b9,b13) Cm9 F13 Bb13 G7(#9) Cm9 F13"
    ),
    "blues with descending ii-V": (
        "Fmaj9 Em7b5 A7(b9,b13) Dm9 G13 Cm9 F13 Bb13 Bbm9 Eb13 Am9 D7(b9) Abm9 Db13 "
        "Gm9 C13 Fmaj9 D7(#9,b13) Gm9 C13"
    ),
    "minor blues in C": (
        "Cm6/9 Cm6/9 Cm6/9 C7(b9,b13) Fm9 Fm9 Cm6/9 Cm6/9 Ab13 G7(#9,b13) Cm6/9 G7(b9,b13)"
    ),
    "minor blues in G with ii-V": (
        "Gm6 Am7b5 D7(b9,b13) Gm6 Dm7b5 G7(b9,b13) Cm9 Cm9 Gm6 Gm6 Am7b5 D7(#9,b13) Gm6 D7(b9,b13)"
    ),
    "rhythm changes, A": (
        "Bb6/9 G7(b9) Cm9 F13 Bb6/9 G7(b9) Cm9 F13 Fm9 Bb13 Eb6/9 Ab13 Dm9 G7(b9) Cm9 F13"
    ),
    "rhythm changes, bridge": "D13 D13 G13 G13 C13 C13 F13 F13",
    "cycle of dominants": "B13 E9 A13 D9 G13 C9 F13 Bb9 Eb13 Ab9 Db13 Gb9",
    "ladder of ii-V down by whole steps": (
        "Em9 A13 Dm9 G13 Cm9 F13 Bbm9 Eb13 Abm9 Db13 Gbmaj9 Gbmaj9"
    ),
    "ladder of ii-V up by semitones": "Dm9 G13 Ebm9 Ab13 Em9 A13 Fm9 Bb13 Ebmaj9 Ebmaj9",
    "ladder of ii-V down by semitones": "F#m9 B13 Fm9 Bb13 Em9 A13 Ebm9 Ab13 Dm9 G13 Cmaj9 C6/9",
    "major through three keys by major thirds": (
        "Cmaj9 Eb13 Abmaj9 B13 Emaj9 G13 Cmaj9 Gm9 C13 Fmaj9 Bm7b5 E7(b9,b13) Am9 Dm9 G13 Cmaj9"
    ),
    "modal vamp, minor": "Dm11 Em11 Dm11 Em11 Dm11 Dm11 Ebm11 Ebm11 Dm11 Dm11",
    "sus vamp": "D9sus D9sus F9sus F9sus Eb9sus Eb9sus C9sus D9sus",
    "back-door endings": "Cmaj9 Fm9 Bb13 Cmaj9 Am9 D13 Fm6 Bb9 Cmaj9 C6/9",
    "turnarounds with substitutes": (
        "Cmaj9 Eb13 Dm9 Db13 Cmaj9 A7(#9,b13) Ab13 G13 C6/9 Eb9 D9 Db9 C6/9"
    ),
    "diatonic cycle, minor": (
        "Am9 D13 Gmaj9 Cmaj9 F#m7b5 B7(b9,b13) Em9 E7(b9) Am9 D13 Gmaj9 Cmaj9 "
        "F#m7b5 B7(#9,b13) Em6 Em6"
    ),
    "two-key song form": (
        "Fm9 Bbm9 Eb13 Abmaj9 Dbmaj9 Dm9 G13 Cmaj9 Cmaj9 Cm9 Fm9 Bb13 Ebmaj9 Abmaj9 "
        "Am7b5 D7(b9) Gmaj9 Gmaj9"
    ),
    "passing diminished": (
        "Cmaj9 C#dim7 Dm9 D#dim7 Em9 A7(b9) Dm9 G13 Cmaj9 C7 Fmaj9 F#dim7 C6 A7(b9) Dm9 G13"
    ),
    "minor song with line": (
        "Cm9 CmMaj9 Cm9 Cm6 Fm9 Dm7b5 G7(b9,b13) Cm6/9 Abmaj9 Dm7b5 G7(#9,b13) Cm6"
    ),
    "up a minor third and home": (
        "Ebmaj9 Fm9 Bb13 Ebmaj9 Abm9 Db13 Gbmaj9 Gm7b5 C7(b9,b13) Fm9 Bb13 Eb6/9"
    ),
    "sus to its own dominant": "G9sus G13(b9) Cmaj9 C9sus C13(b9) Fmaj9 Bb9sus Bb13 Ebmaj9 Ebmaj9",
}


def generated(rng: random.Random, *, phrases: int = 4) -> list[tuple[int, str]]:
    """A few phrases in drawn keys: (root pitch class, quality key) per chord."""
    chords: list[tuple[int, str]] = []
    tonic = rng.randrange(12)
    for _ in range(phrases):
        names = sorted(PATTERNS)
        name = rng.choices(names, weights=[PATTERNS[one][0] for one in names])[0]
        for step, pool in PATTERNS[name][1]:
            chords.append(((tonic + step) % 12, rng.choice(pool)))
        if rng.random() < 0.6:
            tonic = (tonic + rng.choice((5, 7, 10, 2, 3, 9, 8, 1))) % 12
    return chords


def form(text: str, *, up: int = 0) -> list[tuple[int, str]]:
    """A form's chords moved up by semitones: (root pitch class, quality key)."""
    symbols = [parse_symbol(word) for word in text.split()]
    return [((pitch_class_of(s.root) + up) % 12, s.quality) for s in symbols]


KIND_WEIGHTS = {
    "rootless, 3rd at the bottom": 3.0, "rootless, 7th at the bottom": 3.0, "rootless, open": 2.0,
    "guide tones": 1.5, "block chord": 0.4, "four-way close": 0.6, "fourths": 0.8,
}  # how often a comping pianist takes each kind, the others 1 (common practice)  # fmt: skip
SUBSTITUTE_QUALITY = {"m6": "m6/9", "mMaj7": "mMaj9", "maj7": "maj9", "m7": "m9", "7": "9"}


def _choices(key: str, allowed: Iterable[Shape]) -> list[Shape]:
    """Shapes of a quality, or of the fuller quality that players take for it."""
    pool = list(allowed)
    found = [shape for shape in pool if shape.quality == key]
    if not found and key in SUBSTITUTE_QUALITY:
        found = [shape for shape in pool if shape.quality == SUBSTITUTE_QUALITY[key]]
    return found


def voiced(
    chords: Sequence[tuple[int, str]],
    rng: random.Random,
    *,
    pool: Sequence[Shape] | None = None,
    low: int = 48,
) -> list[Played]:
    """Play chords with shapes of the pool, each the nearest of a few to the one before."""
    allowed = list(shapes() if pool is None else pool)
    played: list[Played] = []
    for root_pc, key in chords:
        choices = _choices(key, allowed) or _choices(key, shapes())
        weights = [KIND_WEIGHTS.get(shape.kind, 1.0) for shape in choices]
        drawn = rng.choices(choices, weights=weights, k=3)
        placed = [(shape, realise(shape, root_pc, low + rng.randrange(5))) for shape in drawn]
        centre = sum(played[-1].pitches) / len(played[-1].pitches) if played else 60.0
        shape, pitches = min(placed, key=lambda one: abs(sum(one[1]) / len(one[1]) - centre))
        played.append(
            Played(
                pitches=pitches,
                root_pc=root_pc,
                family=quality(key).family,
                quality=key,
                kind=shape.kind,
                rootless=shape.rootless,
            )
        )
    return played


def guide_tone_shells(chords: Sequence[tuple[int, str]], rng: random.Random) -> list[Played]:
    """The same chords as two-note shells: 3 and 7 (or 6), led by the nearest way."""
    played: list[Played] = []
    for root_pc, key in chords:
        row = quality(key)
        intervals = set(row.intervals)
        third = (
            5 if row.family == "suspended" else (3 if 3 in intervals and 4 not in intervals else 4)
        )
        seventh = next((one for one in (10, 11, 9) if one in intervals), 10)
        pair = [(root_pc + third) % 12, (root_pc + seventh) % 12]
        options = [
            tuple(sorted((48 + (a - 48) % 12 + octave, 48 + (a - 48) % 12 + octave + (b - a) % 12)))
            for a, b in (pair, pair[::-1])
            for octave in (0, 12)
        ]
        centre = sum(played[-1].pitches) / 2 if played else 57.0 + rng.randrange(-3, 4)
        pitches = min(options, key=lambda one: abs(sum(one) / 2 - centre))
        played.append(
            Played(
                pitches=pitches,
                root_pc=root_pc,
                family=row.family,
                quality=key,
                kind="guide tones",
                rootless=True,
            )
        )
    return played


def root_name(pc: int) -> str:
    """A root for print."""
    return PLAIN_NAMES[pc]
