"""The keyboard pictures of a printed sheet, and the voices between them, as SVG.

The same records as on the page (`keyboard_picture`), drawn with plain shapes: guide
tones are filled squares, tensions filled and round, root, 5 and 6 outlines; a common tone is a
thick line, a guide-tone line broken, so that all can be read in black and white.
"""

from collections.abc import Sequence

from stackline.report.contents.keyboard_picture import (
    BLACK_H,
    BLACK_W,
    KEY_W,
    LINES_H,
    TOP_H,
    WHITE_H,
    Bracket,
    Line,
    LineKind,
    Marker,
    Stretch,
)
from stackline.report.printed.sheet_type import Type, put

INK, SOFT, RULE = "#000", "#444", "#bbb"
GUIDE, TENSION = "#12575a", "#a3431b"
KEY_LINE, BLACK_KEY = "#888", "#333"
_WHITE = frozenset({0, 2, 4, 5, 7, 9, 11})
_LOOKS: dict[LineKind, tuple[str, float, str]] = {  # colour, width in points, dashes
    "stay": (INK, 2.0, ""),
    "guide": (GUIDE, 1.8, "5 2"),
    "move": (SOFT, 0.8, ""),
    "enter": (SOFT, 0.8, "1 2"),
    "leave": (SOFT, 0.8, "1 2"),
}


def keyboard(markers: Sequence[Marker], brackets: Sequence[Bracket], stretch: Stretch,
             scale: float, unsure: bool = False) -> str:  # fmt: skip
    """A keyboard with its played keys; `scale` is points for a unit of the drawing."""
    parts = [_keys(stretch, unsure)]
    parts += [_marker(one) for one in markers]
    parts += [_bracket(one) for one in brackets]
    return f'<g transform="scale({scale:.4f})">{"".join(parts)}</g>'


def _keys(stretch: Stretch, unsure: bool) -> str:
    """The keys without what is played; a broken frame where the voicing is unsure."""
    keys = range(stretch.low, stretch.high + 1)
    whites = [midi for midi in keys if midi % 12 in _WHITE]
    gaps = "".join(f"M{KEY_W * i:.0f} {TOP_H}v{WHITE_H}" for i in range(1, len(whites)))
    blacks = "".join(
        f'<rect x="{stretch.x(midi) - BLACK_W / 2:.1f}" y="{TOP_H}" width="{BLACK_W}" '
        f'height="{BLACK_H}" fill="{BLACK_KEY}"/>'
        for midi in keys
        if midi % 12 not in _WHITE
    )
    frame = f'stroke="{TENSION}" stroke-width="2.4" stroke-dasharray="6 4"' if unsure else (
        f'stroke="{KEY_LINE}" stroke-width="1"')  # fmt: skip
    return (
        f'<path d="{gaps}" stroke="{KEY_LINE}" stroke-width="1"/>{blacks}'
        f'<rect x="0" y="{TOP_H}" width="{stretch.width}" height="{WHITE_H}" fill="none" {frame}/>'
    )


def _marker(one: Marker) -> str:
    filled = one.role != "plain"
    fill = {"guide": GUIDE, "tension": TENSION, "plain": "#fff"}[one.role]
    edge = INK if one.held or one.unsure or not filled else "#fff"
    dashes = ' stroke-dasharray="3 2"' if one.held or one.unsure else ""
    box = (
        f'<rect x="{one.x - one.width / 2:.1f}" y="{one.y - 9:.1f}" width="{one.width}" height="18"'
        f' rx="{2 if one.role == "guide" else 9}" fill="{fill}" stroke="{edge}" '
        f'stroke-width="1.6"{dashes}/>'
    )
    style = Type(
        size=14 if len(one.degree) < 3 else 12, bold=True, colour="#fff" if filled else INK
    )
    parts = [box, put(_signed(one.degree), one.x, one.y + 4.6, style, "middle")]
    if one.unsure:
        parts.append(_doubt(one.x, one.y - 18))
    if one.top:
        parts.append(f'<path d="M{one.x - 6:.1f} 0h12l-6 11z" fill="{INK}"/>')
    return "".join(parts)


def _doubt(x: float, y: float) -> str:
    """A question mark that can be read on a black key too."""
    disc = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="7.5" fill="#fff" stroke="{TENSION}"/>'
    return disc + put("?", x, y + 4.6, Type(size=13, bold=True, colour=TENSION), "middle")


def _signed(degree: str) -> str:
    return degree.replace("b", "\u266d").replace("#", "\u266f")


def _bracket(one: Bracket) -> str:
    y = TOP_H + WHITE_H + 4
    middle = (one.left + one.right) / 2
    return (
        f'<path d="M{one.left:.1f} {y}v4H{one.right:.1f}v-4" fill="none" stroke="{SOFT}" '
        f'stroke-width="1.4"/>' + put(one.letter, middle, y + 14, Type(size=11), "middle")
    )


def voices(lines: Sequence[Line], scale: float, height: float) -> str:
    """The voices down to the next keyboard, `height` points below."""
    down = height / LINES_H
    drawn = []
    for one in lines:
        colour, wide, dashes = _LOOKS[one.kind]
        broken = f' stroke-dasharray="{dashes}"' if dashes else ""
        drawn.append(
            f'<path d="M{one.x1 * scale:.1f} {one.y1 * down:.1f}L{one.x2 * scale:.1f} '
            f'{one.y2 * down:.1f}" stroke="{colour}" stroke-width="{wide}"{broken}/>'
        )
    return "".join(drawn)
