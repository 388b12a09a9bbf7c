"""A degree stack as a target holds it: read once from what was typed, printed as it is typed.

Written low to high, each degree the nearest above the one before it; an apostrophe behind a degree
lifts it an octave further. ``R b7 3' 13``
"""

from collections.abc import Sequence
from dataclasses import dataclass

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import Degree
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.stacks.shapes import stacked_heights


@dataclass(frozen=True)
class StackNote:
    """One degree of a stack; octaves: further up than the nearest above the note before."""

    degree: Degree
    octaves: int = 0

    def __str__(self) -> str:
        return f"{self.degree}{chr(39) * self.octaves}"


Stack = tuple[StackNote, ...]


def read_stack(text: str) -> Stack:
    """Degrees low to high, apostrophes kept; raises Complaint naming the one at fault."""
    words = text.replace(",", " ").split()
    if not words:
        raise Complaint("an empty stack: write degrees low to high, such as b7 9 3 13")
    return tuple(
        StackNote(degree=read_degree(word.rstrip("'")), octaves=len(word) - len(word.rstrip("'")))
        for word in words
    )


def read_degree(text: str) -> Degree:
    """One degree; raises Complaint for anything else."""
    try:
        return Degree.parse(text)
    except ValueError:
        raise Complaint(
            f"{text!r} is no degree: write R, b3, 3, 11, #11, 5, b13, 13, b7, 7 and the like"
        ) from None


def stack_text(stack: Stack) -> str:
    """What `read_stack` reads back."""
    return " ".join(map(str, stack))


def heights(stack: Stack) -> tuple[int, ...]:
    """Semitones above the root below, low to high."""
    return stacked_heights([(pitch_class(one.degree), one.octaves) for one in stack])


def spaced(degrees: Sequence[Degree], pitches: Sequence[int]) -> Stack:
    """Degrees low to high with an apostrophe for each octave that a gap passes beyond the next."""
    written: Stack = ()
    for degree, pitch in zip(degrees, pitches, strict=True):
        here = heights((*written, StackNote(degree)))
        over = (pitch - pitches[0] - (here[-1] - here[0])) // 12
        written = (*written, StackNote(degree, over))
    return written
