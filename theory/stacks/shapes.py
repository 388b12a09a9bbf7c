"""The table of common voicing shapes, low to high, and how to place one on the keys.

A row: what it is (a name of `kinds`, or its stem "upper structure"), the quality it
is played for, the degrees from the lowest note up, and where it stands in print. Each
degree is the nearest one above the note before it; an apostrophe puts it an octave
higher still (``R 3'`` is a tenth).

Sources, quoted as facts, not text: [piano] piano.org/theory/rootless-voicings and
/so-what-voicings; [under] pianounderstand.com; [tonal] @tonaljs/voicing-dictionary 5.1.2 (MIT);
[jt] jazztutorial.com; [lui] greglui.com; [baez] johncarlosbaez.wordpress.com/2023/02/16;
[site] thejazzpianosite.com; [out] outsideshore.com; [rh] robin-hoffmann.com;
[em] earlmacdonald.com; [spread] a textbook chapter on spread voicings; else common practice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from stackline.theory.chords.degrees import pitch_class
from stackline.theory.stacks.kinds import (
    BLOCK,
    DROP_2,
    DROP_3,
    DROP_24,
    FIFTHS_TWO_HANDS,
    FOUR_WAY,
    FOURTHS,
    FOURTHS_THIRD,
    FOURTHS_TWO_HANDS,
    GUIDE_TONES,
    ROOTED_OPEN,
    ROOTLESS_3,
    ROOTLESS_4,
    ROOTLESS_6,
    ROOTLESS_7,
    ROOTLESS_OPEN,
    SHELL,
    SPREAD,
)

UPPER = "upper structure"
COMMON = "common practice"


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One voicing shape.

    name: unique. kind: what `stackline.theory.stacks.structures` must find in it. quality: key of
    `qualities`. degrees: texts low to high. semitones: above the root below.
    """

    name: str
    kind: str
    quality: str
    degrees: tuple[str, ...]
    semitones: tuple[int, ...]
    source: str

    @property
    def rootless(self) -> bool:
        """Whether the root does not sound."""
        return "R" not in self.degrees


_ROWS = (
    # Four notes without the root: the 3rd at the bottom
    (ROOTLESS_3, "m9", "b3 5 b7 9", "[piano] [tonal]"),
    (ROOTLESS_3, "13", "3 13 b7 9", "[piano] [tonal]"),
    (ROOTLESS_3, "maj9", "3 5 7 9", "[piano] [tonal]"),
    (ROOTLESS_3, "9", "3 5 b7 9", COMMON),
    (ROOTLESS_3, "7(b9)", "3 5 b7 b9", COMMON),
    (ROOTLESS_3, "13(b9)", "3 13 b7 b9", COMMON),
    (ROOTLESS_3, "7(b9,b13)", "3 b13 b7 b9", "[tonal]"),
    (ROOTLESS_3, "7(#9,b13)", "3 b13 b7 #9", COMMON),
    (ROOTLESS_3, "9(b13)", "3 b13 b7 9", COMMON),
    (ROOTLESS_3, "7(#9)", "3 5 b7 #9", COMMON),
    (ROOTLESS_3, "9(#11)", "3 #11 b7 9", COMMON),
    (ROOTLESS_3, "6/9", "3 5 6 9", COMMON),
    (ROOTLESS_3, "maj9(#11)", "3 #11 7 9", COMMON),
    (ROOTLESS_3, "m6/9", "b3 5 6 9", "[tonal]"),
    (ROOTLESS_3, "mMaj9", "b3 5 7 9", "[tonal]"),
    (ROOTLESS_3, "m11", "b3 11 b7 9", COMMON),
    (ROOTLESS_3, "m9b5", "b3 b5 b7 9", COMMON),
    (ROOTLESS_3, "m11b5", "b3 11 b5 b7", COMMON),
    (ROOTLESS_4, "9sus", "4 5 b7 9", COMMON),
    (ROOTLESS_4, "13sus", "4 13 b7 9", COMMON),
    # The 7th (or 6th) at the bottom
    (ROOTLESS_7, "m9", "b7 9 b3 5", "[under] [tonal]"),
    (ROOTLESS_7, "13", "b7 9 3 13", "[under] [tonal]"),
    (ROOTLESS_7, "maj9", "7 9 3 5", "[under] [tonal]"),
    (ROOTLESS_7, "9", "b7 9 3 5", COMMON),
    (ROOTLESS_7, "7(b9)", "b7 b9 3 5", COMMON),
    (ROOTLESS_7, "13(b9)", "b7 b9 3 13", COMMON),
    (ROOTLESS_7, "7(b9,b13)", "b7 b9 3 b13", "[tonal]"),
    (ROOTLESS_7, "7(#9,b13)", "b7 #9 3 b13", COMMON),
    (ROOTLESS_7, "7(#9)", "b7 #9 3 5", COMMON),
    (ROOTLESS_7, "9(b13)", "b7 9 3 b13", COMMON),
    (ROOTLESS_7, "13(#11)", "b7 3 #11 13", COMMON),
    (ROOTLESS_6, "6/9", "6 9 3 5", COMMON),
    (ROOTLESS_7, "maj13", "7 9 3 13", COMMON),
    (ROOTLESS_6, "m6/9", "6 9 b3 5", "[tonal]"),
    (ROOTLESS_7, "mMaj9", "7 9 b3 5", "[tonal]"),
    (ROOTLESS_7, "m11", "b7 9 b3 11", COMMON),
    (ROOTLESS_7, "m11b5", "b7 b3 11 b5", COMMON),
    (ROOTLESS_7, "9sus", "b7 9 4 5", COMMON),
    (ROOTLESS_7, "13sus", "b7 9 4 13", COMMON),
    # Three notes without the root
    (ROOTLESS_3, "m9", "b3 b7 9", COMMON),
    (ROOTLESS_OPEN, "7(13)", "3 b7 13", COMMON),
    (ROOTLESS_3, "7(#9)", "3 b7 #9", "[tonal]"),
    (ROOTLESS_3, "9", "3 b7 9", COMMON),
    (ROOTLESS_3, "maj9", "3 7 9", COMMON),
    (ROOTLESS_7, "m7", "b7 b3 5", COMMON),
    (ROOTLESS_7, "7(13)", "b7 3 13", COMMON),
    (ROOTLESS_7, "7(b13)", "b7 3 b13", COMMON),
    (ROOTLESS_7, "maj7", "7 3 5", COMMON),
    # Shells
    (GUIDE_TONES, "7", "3 b7", COMMON),
    (GUIDE_TONES, "7", "b7 3", COMMON),
    (GUIDE_TONES, "m7", "b3 b7", COMMON),
    (GUIDE_TONES, "m7", "b7 b3", COMMON),
    (GUIDE_TONES, "maj7", "3 7", COMMON),
    (GUIDE_TONES, "maj7", "7 3", COMMON),
    (SHELL, "m7", "R b7 b3", "[em]"),
    (SHELL, "7", "R b7 3", "[em]"),
    (SHELL, "maj7", "R 7 3", "[em]"),
    (SHELL, "6", "R 6 3", "[em]"),
    (SHELL, "m7", "R b7", COMMON),
    (SHELL, "7", "R b7", COMMON),
    (SHELL, "maj7", "R 3'", COMMON),
    (SHELL, "m7", "R b3 b7", COMMON),
    (SHELL, "7", "R 3 b7", COMMON),
    (SHELL, "maj7", "R 3 7", COMMON),
    # Two hands, five and six notes
    (ROOTED_OPEN, "m11", "b3 b7 9 5 R 11", COMMON),
    (ROOTLESS_OPEN, "m9", "b7 b3 5 9 5", COMMON),
    (ROOTLESS_OPEN, "m11", "b7 b3 5 9 11", COMMON),
    (FOURTHS, "13", "b7 3 13 9 5", COMMON),
    (ROOTLESS_OPEN, "13", "3 b7 9 5 13", COMMON),
    (ROOTLESS_OPEN, "13", "3 b7 9 13 3", COMMON),
    (ROOTLESS_OPEN, "7(#9,b13)", "b7 3 b13 #9 3", COMMON),
    (DROP_2, "7(#9,b13)", "3 b7 #9 b13", COMMON),
    (ROOTLESS_OPEN, "maj13", "3 7 9 5 13", COMMON),
    (ROOTLESS_OPEN, "maj9", "7 3 5 9 5", COMMON),
    (ROOTLESS_OPEN, "maj9(#11)", "3 7 9 #11 7", COMMON),
    (ROOTLESS_OPEN, "maj13(#11)", "3 7 9 #11 13", COMMON),
    (DROP_2, "9sus", "b7 4 5 9", COMMON),
    (ROOTLESS_OPEN, "13sus", "b7 4 13 9 5", COMMON),
    (ROOTLESS_OPEN, "m6/9", "b3 6 9 5 9", COMMON),
    # Drop 2, drop 3, drop 2&4
    (DROP_2, "7", "5 R 3 b7", "[out]"),
    (DROP_2, "m7", "5 R b3 b7", COMMON),
    (DROP_2, "maj7", "5 R 3 7", COMMON),
    (DROP_2, "m7b5", "b5 R b3 b7", COMMON),
    (DROP_2, "maj7", "R 5 7 3", COMMON),
    (DROP_2, "m7", "R 5 b7 b3", COMMON),
    (DROP_2, "m7b5", "R b5 b7 b3", COMMON),
    (DROP_2, "6", "R 5 6 3", COMMON),
    (DROP_2, "m6", "R 5 6 b3", COMMON),
    (DROP_2, "mMaj7", "R 5 7 b3", COMMON),
    (DROP_2, "dim7", "R b5 bb7 b3", COMMON),
    (DROP_2, "13(b9)", "b7 3 13 b9", COMMON),
    (DROP_2, "m9", "b7 b3 5 9", COMMON),
    (DROP_2, "9", "3 b7 9 5", COMMON),
    (DROP_2, "maj9", "3 7 9 5", COMMON),
    (DROP_3, "7", "R b7 3 5", COMMON),
    (DROP_3, "m7", "R b7 b3 5", COMMON),
    (DROP_3, "maj7", "R 7 3 5", COMMON),
    (DROP_24, "7", "R 5 3 b7", "[rh]"),
    (DROP_24, "maj7", "R 5 3 7", COMMON),
    (DROP_24, "m7", "R 5 b3 b7", COMMON),
    # Four-way close and the lead doubled
    (FOUR_WAY, "m7b5", "b3 b5 b7 R", "[tonal]"),
    (FOUR_WAY, "m7b5", "b7 R b3 b5", "[tonal]"),
    (FOUR_WAY, "dim7", "R b3 b5 bb7", "[tonal]"),
    (FOUR_WAY, "dim7", "b5 bb7 R b3", "[tonal]"),
    (FOUR_WAY, "6", "5 6 R 3", COMMON),
    (FOUR_WAY, "m6", "b3 5 6 R", COMMON),
    (BLOCK, "6", "5 6 R 3 5", "[site]"),
    (BLOCK, "6", "3 5 6 R 3", COMMON),
    (BLOCK, "m6", "b3 5 6 R b3", COMMON),
    (BLOCK, "m7", "5 b7 R b3 5", COMMON),
    (BLOCK, "dim7", "b3 b5 bb7 R b3", COMMON),
    # Fourths and fifths
    (FOURTHS, "m7(11)", "R 11 b7", COMMON),
    (FOURTHS, "m11", "5 R 11 b7", COMMON),
    (FOURTHS, "6/9", "3 6 9", COMMON),
    (FOURTHS, "6/9", "3 6 9 5", COMMON),
    (FOURTHS, "13", "b7 3 13 9", COMMON),
    (FOURTHS, "9sus", "5 R 4 b7", COMMON),
    (FOURTHS, "maj13", "7 3 13 9", COMMON),
    (FOURTHS_THIRD, "m7(11)", "R 11 b7 b3 5", "[jt]"),
    (FOURTHS_THIRD, "m6/9", "9 5 R 11 6", "[piano]"),
    (FOURTHS_THIRD, "maj13", "3 13 9 5 7", "[lui]"),
    (FOURTHS_THIRD, "maj13(#11)", "7 3 13 9 #11", "[lui]"),
    (FOURTHS_TWO_HANDS, "6/9", "3 6 9 6 9 5", COMMON),
    (FIFTHS_TWO_HANDS, "m11", "R 5 9 b3 b7 11", COMMON),
    (FIFTHS_TWO_HANDS, "maj9(#11)", "R 5 9 3 7 #11", COMMON),
    # Upper structures
    (UPPER, "13(#11)", "3 b7 9 #11 13", "[baez]"),
    (UPPER, "7(#9)", "3 b7 #9 5 b7", "[baez]"),
    (UPPER, "7(#9)", "3 b7 #9 5 R", "[baez]"),
    (UPPER, "7(b9,#11)", "3 b7 b9 #11 b7", "[baez]"),
    (UPPER, "7(#9,b13)", "3 b7 #9 b13 R", "[baez]"),
    (UPPER, "13(b9)", "3 b7 b9 3 13", "[baez]"),
    (UPPER, "7(b9,b13)", "3 b7 b9 3 b13", "[baez]"),
    (UPPER, "7(#9,#11)", "3 b7 #9 #11 b7", "[baez]"),
    (UPPER, "13(b9,#11)", "3 b7 b9 #11 13", "[baez]"),
    (UPPER, "13(b9)", "b7 3 13 b9 3 13", COMMON),
    # Spreads
    (SPREAD, "m9", "R b7 b3 5 9", "[spread]"),
    (SPREAD, "9", "R b7 3 5 9", COMMON),
    (SPREAD, "maj9", "R 7 3 5 9", COMMON),
    (SPREAD, "13", "R b7 3 13 9", COMMON),
    (SPREAD, "6/9", "R 5 3 6 9", COMMON),
    (SPREAD, "maj7", "R 5 3 7", COMMON),
)


def stack_semitones(degrees: tuple[str, ...]) -> tuple[int, ...]:
    """Semitones above the root below of degrees stacked low to high (see the module)."""
    return stacked_heights([(pitch_class(one.rstrip("'")), one.count("'")) for one in degrees])


def stacked_heights(notes: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    """The same of pitch classes (0..11), each with the octaves that it lies further up."""
    placed: list[int] = []
    for wanted, octaves in notes:
        height = wanted if not placed else placed[-1] + ((wanted - placed[-1] - 1) % 12) + 1
        placed.append(height + 12 * octaves)
    return tuple(placed)


@cache
def shapes() -> tuple[Shape, ...]:
    """Every shape of the table."""
    found = []
    for kind, quality, text, source in _ROWS:
        marked = tuple(text.split())
        degrees = tuple(degree.rstrip("'") for degree in marked)
        name = f"{quality}, {kind}: {' '.join(degrees)}"
        found.append(
            Shape(
                name=name,
                kind=kind,
                quality=quality,
                degrees=degrees,
                semitones=stack_semitones(marked),
                source=source,
            )
        )
    return tuple(found)


def shapes_for(quality: str) -> tuple[Shape, ...]:
    """The shapes of one quality; empty where the table has none."""
    return tuple(shape for shape in shapes() if shape.quality == quality)


def realise(shape: Shape, root_pc: int, lowest_at_least: int) -> tuple[int, ...]:
    """Place a shape on the keys: MIDI pitches low to high over a root pitch class 0..11.

    It takes the lowest octave whose bottom note is at `lowest_at_least` or above. Raises
    ValueError where the top would pass the piano's highest key (108).
    """
    bottom = (root_pc + shape.semitones[0]) % 12
    lowest = lowest_at_least + (bottom - lowest_at_least) % 12
    pitches = tuple(lowest + step - shape.semitones[0] for step in shape.semitones)
    if pitches[-1] > 108:
        raise ValueError(f"{shape.name} from {lowest} ends at {pitches[-1]}, above the piano")
    return pitches
