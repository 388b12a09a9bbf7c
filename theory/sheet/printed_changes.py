"""Changes as text below something else that is printed, and out of it again.

What a drill prints is a table for the eye. Its last lines are its changes, so that the text, kept
in a file, is one that `changes_text` reads.
"""

from collections.abc import Sequence
from fractions import Fraction

MARK = "Changes:"  # a line of its own; what follows, up to an empty line, is changes


def in_bars(chords: Sequence[tuple[str, Fraction]], beats_per_bar: int) -> str | None:
    """Symbols with how many beats each holds, in bars; None for what no bar line can say.

    A chord that goes on in the next bar leaves that one empty; shorter ones take a stroke for each
    beat but their first.
    """
    bars: list[list[str]] = [[]]
    room = Fraction(beats_per_bar)
    for symbol, beats in chords:
        left, word = beats, symbol
        while left > 0:
            here = min(left, room)
            if here.denominator != 1:
                return None
            if word:
                bars[-1] += [word, *["/"] * (int(here) - 1)]
            elif here < beats_per_bar:
                bars[-1] += ["/"] * int(here)
            left, room, word = left - here, room - here, ""
            if not room:
                bars.append([])
                room = Fraction(beats_per_bar)
    if bars[-1]:
        return None
    return "| " + " | ".join(" ".join(_shorter(bar)) for bar in bars[:-1]) + " |"


def _shorter(bar: list[str]) -> list[str]:
    """A bar without its strokes where its chords share it evenly anyway: the usual way to write."""
    return bar[:1] if bar[1:] == ["/"] * (len(bar) - 1) and bar and bar[0] != "/" else bar


def changes_below(text: str) -> str:
    """The changes of a text that has them below a line `MARK`; any other text as it is."""
    lines = text.splitlines()
    marks = [i for i, line in enumerate(lines) if line.strip() == MARK]
    if not marks:
        return text
    below = lines[marks[-1] + 1 :]
    ends = [i for i, line in enumerate(below) if not line.strip()]
    return "\n".join(below[: ends[0]] if ends else below)
