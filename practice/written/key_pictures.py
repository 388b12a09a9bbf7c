"""A few piano keys with dots: what was meant, and what was played."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

DotKind = Literal["right", "wrong", "lost"]
WHITE_WIDTH, BLACK_WIDTH = 10, 6  # of a picture, in drawing units
WHITE_Y, BLACK_Y = 38, 20  # likewise: where dots stand
_WHITES = {0: 0, 2: 1, 4: 2, 5: 3, 7: 4, 9: 5, 11: 6}  # white keys above C


@dataclass(frozen=True, kw_only=True)
class Dot:
    """A mark on a key; x, y in pixels."""

    x: float
    y: int
    kind: DotKind


@dataclass(frozen=True, kw_only=True)
class Picture:
    """Keys from a C to a B: left edges of white and black keys, dots, width in pixels."""

    width: int
    whites: tuple[int, ...]
    blacks: tuple[float, ...]
    dots: tuple[Dot, ...]


def picture(played: Sequence[int], meant: Sequence[int]) -> Picture:
    """The keys around some notes, at least one of either; without `meant` all played are right."""
    every = [*played, *meant]
    low, high = min(every) // 12 * 12, max(every) // 12 * 12 + 11
    keys = range(low, high + 1)
    due = set(meant) or set(played)
    dots = [Dot(x=_middle(p, low), y=_height(p), kind=_kind(p, due)) for p in played]
    lost = sorted(due - set(played))
    dots += [Dot(x=_middle(p, low), y=_height(p), kind="lost") for p in lost]
    return Picture(
        width=WHITE_WIDTH * 7 * ((high - low + 1) // 12),
        whites=tuple(int(_left(p, low)) for p in keys if p % 12 in _WHITES),
        blacks=tuple(_left(p, low) for p in keys if p % 12 not in _WHITES),
        dots=tuple(dots),
    )


def _kind(pitch: int, due: set[int]) -> DotKind:
    return "right" if pitch in due else "wrong"


def _left(pitch: int, low: int) -> float:
    octave, step = divmod(pitch - low, 12)
    if step in _WHITES:
        return WHITE_WIDTH * (7 * octave + _WHITES[step])
    return WHITE_WIDTH * (7 * octave + _WHITES[step - 1] + 1) - BLACK_WIDTH / 2


def _middle(pitch: int, low: int) -> float:
    width = WHITE_WIDTH if pitch % 12 in _WHITES else BLACK_WIDTH
    return _left(pitch, low) + width / 2


def _height(pitch: int) -> int:
    return WHITE_Y if pitch % 12 in _WHITES else BLACK_Y
