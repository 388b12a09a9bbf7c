"""Where things stand on a drawn piano keyboard: keys, markers, and lines between pictures.

All pictures of one take show the same stretch of the keyboard, so that a voice can be
followed straight down the page. Units are those of the drawing: a white key is `KEY_W`
wide. Black keys stand where they do on a piano, a little outside the middle of the gap.
The roles are shown by shape first and colour second: guide tones (3 and 7, and what stands
for them) are squares, tensions are round, root, 5 and 6 are outlines.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from stackline.report.words.marks import UNSURE_BELOW, hands
from stackline.shared.harmony import Degree, Motion, Tone, VoiceMove, Voicing
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from stackline.theory.motion.tally import ARRIVED

KEY_W = 20.0
WHITE_H = 96.0
BLACK_W, BLACK_H = 12.0, 56.0
TOP_H = 14.0  # room above the keys for the top line's mark
HANDS_H = 20.0  # room below them for the hands
KEYBOARD_H = TOP_H + WHITE_H + HANDS_H
MARKER_H = 18.0
LINES_H = 40.0

_GROUPS_BEGIN, _GROUPS_END = (0, 5), (4, 11)  # C and F, E and B
SHORTEST = 23  # semitones that a picture shows at least
_WHITE_STEPS = {0: 0, 2: 1, 4: 2, 5: 3, 7: 4, 9: 5, 11: 6}  # white keys above C
_BLACK_CENTRES = {1: 0.95, 3: 2.05, 6: 3.93, 8: 5.0, 10: 6.07}  # in white keys from C

Role = Literal["guide", "tension", "plain"]
LineKind = Literal["stay", "guide", "move", "enter", "leave", "missed"]


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """The part of the keyboard that is shown, by its lowest and highest key (both white)."""

    low: int
    high: int

    @property
    def width(self) -> float:
        """Width of the picture."""
        return self.edge(self.high) - self.edge(self.low) + KEY_W

    @property
    def keys(self) -> range:
        """Every key that is shown, black ones included."""
        return range(self.low, self.high + 1)

    def edge(self, midi: int) -> float:
        """Left edge of a white key, from C-1."""
        return KEY_W * (7 * (midi // 12) + _WHITE_STEPS[midi % 12])

    def x(self, midi: int) -> float:
        """Middle of a key, from the picture's left edge."""
        start = self.edge(self.low)
        if is_black(midi):
            return KEY_W * (7 * (midi // 12) + _BLACK_CENTRES[midi % 12]) - start
        return self.edge(midi) + KEY_W / 2 - start


@dataclass(frozen=True, kw_only=True)
class Marker:
    """A played key: centre, degree, role, and what else the picture says about it."""

    x: float
    y: float
    width: float
    degree: str
    name: str
    role: Role
    black: bool
    held: bool
    top: bool
    unsure: bool


@dataclass(frozen=True, kw_only=True)
class Bracket:
    """The stretch of one hand below the keys."""

    left: float
    right: float
    letter: str


@dataclass(frozen=True, kw_only=True)
class Line:
    """One voice from the picture above to the picture below."""

    x1: float
    y1: float
    x2: float
    y2: float
    kind: LineKind


def stretch_of(pitches: Iterable[int]) -> Stretch:
    """The keys to show for these pitches: whole groups of keys, at least two octaves."""
    found = list(pitches) or [60]
    low, high = max(min(found), LOWEST_MIDI), min(max(found), HIGHEST_MIDI)
    while low % 12 not in _GROUPS_BEGIN and low > LOWEST_MIDI:
        low -= 1
    while (high % 12 not in _GROUPS_END or high - low < SHORTEST) and high < HIGHEST_MIDI:
        high += 1
    while (low % 12 not in _GROUPS_BEGIN or high - low < SHORTEST) and low > LOWEST_MIDI:
        low -= 1
    return Stretch(low=low, high=high)


def is_black(midi: int) -> bool:
    """Whether a key is a black one."""
    return midi % 12 in _BLACK_CENTRES


def role_of(degree: Degree, has_seventh: bool) -> Role:
    """What a degree does in its chord; a 6 stands in for the 7 where there is none."""
    if degree.number in (3, 7) or (degree.number == 6 and not has_seventh):
        return "guide"
    if degree.number == 4:
        return "guide"  # the 4 of a sus chord stands for its 3
    return "tension" if degree.number in (9, 11, 13) else "plain"


def markers(voicing: Voicing, stretch: Stretch) -> tuple[Marker, ...]:
    """The played keys of a voicing, low to high, neighbours on white keys set apart."""
    has_seventh = any(tone.degree.number == 7 for tone in voicing.tones)
    doubtful = {n.midi for n in voicing.attack.struck if n.confidence < UNSURE_BELOW}
    made: list[Marker] = []
    low_y, high_y = TOP_H + WHITE_H - 12.0, TOP_H + WHITE_H - 31.0
    for tone in voicing.tones:
        black = is_black(tone.midi)
        x, y = stretch.x(tone.midi), TOP_H + 40.0 if black else low_y
        if not black and made and not made[-1].black and x - made[-1].x <= KEY_W:
            y = high_y if made[-1].y == low_y else low_y
        made.append(_marker(tone, x, y, voicing, has_seventh, doubtful))
    return tuple(made)


def _marker(tone: Tone, x: float, y: float, voicing: Voicing, has_seventh: bool,
            doubtful: set[int]) -> Marker:  # fmt: skip
    degree = str(tone.degree)
    return Marker(
        x=x,
        y=y,
        width=(MARKER_H, 19.0, 23.0, 26.0)[min(len(degree), 4) - 1],
        degree=degree,
        name=tone.name,
        role=role_of(tone.degree, has_seventh),
        black=is_black(tone.midi),
        held=tone.held,
        top=tone is voicing.top,
        unsure=tone.midi in doubtful,
    )


def brackets(voicing: Voicing, stretch: Stretch) -> tuple[Bracket, ...]:
    """The hands below the keys; an empty hand has none."""
    return tuple(
        Bracket(left=stretch.x(hand[0].midi) - 7, right=stretch.x(hand[-1].midi) + 7, letter=letter)
        for hand, letter in zip(hands(voicing), "LR", strict=True)
        if hand
    )


def lines(motion: Motion, stretch: Stretch) -> tuple[Line, ...]:
    """The voices of a motion as lines; one that appears or vanishes is a short stub."""
    missed = {one.midi for one in motion.resolutions if one.outcome not in ARRIVED}
    drawn = [_line(move, motion.guide_tones, stretch) for move in motion.moves]
    return tuple(
        replace(line, kind="missed") if move.from_midi in missed else line
        for move, line in zip(motion.moves, drawn, strict=True)
        if line is not None
    )


def _line(move: VoiceMove, guides: Sequence[VoiceMove], stretch: Stretch) -> Line | None:
    if move.from_midi is None and move.to_midi is None:
        return None
    if move.from_midi is None or move.to_midi is None:
        entering = move.from_midi is None
        x = stretch.x(move.to_midi if entering else move.from_midi)  # type: ignore[arg-type]
        y1, y2 = (LINES_H * 0.65, LINES_H) if entering else (0.0, LINES_H * 0.35)
        return Line(x1=x, y1=y1, x2=x, y2=y2, kind="enter" if entering else "leave")
    kind: LineKind = "guide" if move in guides else "move"
    if kind == "move" and move.semitones == 0:
        kind = "stay"
    return Line(x1=stretch.x(move.from_midi), y1=0.0, x2=stretch.x(move.to_midi), y2=LINES_H,
                kind=kind)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Keys:
    """The keys of a stretch as two SVG paths, from the picture's left edge and the keys' top."""

    white: str
    black: str


def key_paths(stretch: Stretch) -> Keys:
    """The keys of a stretch: drawn once, and used by every keyboard of a page.

    Paths and no pattern: what is filled with a pattern is printed as a picture, and blurred.
    """
    white, black = [], []
    for midi in stretch.keys:
        x = stretch.x(midi)
        if is_black(midi):
            black.append(f"M{x - BLACK_W / 2:.4g} 0h{BLACK_W:g}v{BLACK_H:g}h-{BLACK_W:g}z")
        else:
            white.append(f"M{x - KEY_W / 2:g} 0h{KEY_W:g}v{WHITE_H:g}h-{KEY_W:g}z")
    return Keys(white="".join(white), black="".join(black))
