"""Type for a printed sheet: how wide a text is, where its lines break, and its SVG.

Text is set in Verovio's Liberation Serif, accidentals in its Leipzig (the text face has none).
Widths are advance widths, so a line is never wider than told here (kerning only tightens).
A character that neither face has is shown as a box. Sizes and places are in points.
"""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Literal
from xml.sax.saxutils import escape

from stackline.report.printed.pdf_pages import faces

MUSIC_SCALE = 1.15  # of an accidental beside its text
BOX = "\u25a1"
SPELLED_OUT = str.maketrans({"\u2153": "+1/3", "\u2154": "+2/3"})  # thirds of a beat
_SPACE = re.compile(r"\s+")

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, kw_only=True)
class Type:
    """How a text looks. size: points; colour: as SVG writes it."""

    size: float
    bold: bool = False
    colour: str = "#000"


@dataclass(frozen=True, kw_only=True)
class _Face:
    """Advance widths in ems by character."""

    family: str
    advances: dict[int, float]


@lru_cache(maxsize=1)
def _faces() -> tuple[_Face, _Face, _Face]:
    """Regular, bold and music."""
    from fontTools import ttLib

    read = []
    for family, font in (faces()[0], faces()[1], faces()[-1]):
        one = ttLib.TTFont(io.BytesIO(font))
        units = one["head"].unitsPerEm
        widths = {code: one["hmtx"][name][0] / units for code, name in one.getBestCmap().items()}
        read.append(_Face(family=family, advances=widths))
    return read[0], read[1], read[2]


@dataclass(frozen=True, kw_only=True)
class _Run:
    """Characters of one face. x: from the start of the text."""

    text: str
    x: float
    music: bool
    width: float


def _runs(text: str, style: Type) -> Iterator[_Run]:
    """A text cut where the face changes."""
    regular, bold, music = _faces()
    plain, x = (bold if style.bold else regular).advances, 0.0
    known = plain.keys() | music.advances.keys()
    shown = [char if ord(char) in known else BOX for char in text.translate(SPELLED_OUT)]
    for is_music, group in groupby(shown, lambda char: ord(char) not in plain):
        run = "".join(group)
        advances = music.advances if is_music else plain
        size = style.size * (MUSIC_SCALE if is_music else 1.0)
        wide = size * sum(advances[ord(char)] for char in run)
        yield _Run(text=run, x=x, music=is_music, width=wide)
        x += wide


def is_whole(text: str) -> bool:
    """Whether there is a sign for every character, so that no box is printed."""
    regular, _, music = _faces()
    known = regular.advances.keys() | music.advances.keys()
    return all(ord(char) in known for char in text.translate(SPELLED_OUT))


def width(text: str, style: Type) -> float:
    """How wide a text is on one line."""
    return sum(run.width for run in _runs(text, style))


def wrapped(text: str, style: Type, limit: float) -> tuple[str, ...]:
    """A text in lines no wider than `limit`; a word that is wider is cut."""
    lines: list[str] = []
    for word in _SPACE.split(text.strip()):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, style) <= limit:
            lines[-1] = longer
            continue
        *pieces, rest = _cut(word, style, limit)
        lines += [*pieces, rest]
    return tuple(lines)


def _cut(word: str, style: Type, limit: float) -> list[str]:
    """A word in pieces that fit; one piece for any usual word."""
    pieces = [""]
    for char in word:
        if pieces[-1] and width(pieces[-1] + char, style) > limit:
            pieces.append("")
        pieces[-1] += char
    return pieces


def fitted(text: str, style: Type, limit: float) -> str:
    """A text on one line, with an ellipsis where it is too long."""
    if width(text, style) <= limit:
        return text
    return _cut(text, style, limit - width("\u2026", style))[0].rstrip() + "\u2026"


def put(text: str, x: float, y: float, style: Type, anchor: Anchor = "start") -> str:
    """One line as SVG; (x, y) is on the baseline."""
    regular, bold, music = _faces()
    runs = list(_runs(text, style))
    total = sum(run.width for run in runs)
    start = x - {"start": 0.0, "middle": total / 2, "end": total}[anchor]
    weight = ' font-weight="700"' if style.bold else ""
    drawn = []
    for run in runs:
        lead = len(run.text) - len(run.text.lstrip())  # SVG drops spaces in front
        space = lead * style.size * (bold if style.bold else regular).advances[ord(" ")]
        size = style.size * (MUSIC_SCALE if run.music else 1.0)
        look = f'font-family="{music.family}"' if run.music else (
            f'font-family="{regular.family}"{weight}')  # fmt: skip
        if run.text.strip():
            drawn.append(
                f'<text x="{start + run.x + space:.2f}" y="{y:.2f}" {look} '
                f'font-size="{size:.2f}" fill="{style.colour}">{escape(run.text.strip())}</text>'
            )
    return "".join(drawn)
