"""A bass under a drill: a rootless voicing without one is two chords to the ear.

    roots  the root of each chord, held
    two    root and fifth in turn, half notes: the feel "in two"
    walk   a note a beat: the root, chord tones on the way, and a half step or a fifth into the next

Common practice, within the lower octave and a half of a double bass. In bars that wait for an
answer only the metronome plays.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from stackline.practice.drills.drill import Drill, Struck
from stackline.shared.complaint import Complaint
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.chords.root_under import LOWEST, root_key

HIGHEST = 48  # MIDI, C3: a walking line goes no higher
CHORD_TONES = 4  # of a row: root, third, fifth, seventh; tensions are the piano's
FIFTHS = ("5", "b5", "#5")


@dataclass(frozen=True, kw_only=True)
class BassNote:
    """start and beats are counted as in `Drill`; pitch is MIDI."""

    start: Fraction
    beats: Fraction
    pitch: int


def bass_notes(drill: Drill, style: str) -> tuple[BassNote, ...]:
    """The bass of a drill; empty for "off". Raises Complaint for another style."""
    if style == "off":
        return ()
    if style not in STYLES:
        raise Complaint(f"--bass {style!r}: allowed are {', '.join(STYLES)} and off")
    struck = drill.struck()
    roots = [root_key(one.chord.root_pc(drill.keys[one.key].key)) for one in struck]
    found: list[BassNote] = []
    for i, one in enumerate(struck):
        goes_on = i + 1 < len(struck) and struck[i + 1].start == one.start + one.beats
        found += STYLES[style](one, roots[i], roots[i + 1] if goes_on else None)
    return tuple(found)


def _roots(one: Struck, root: int, following: int | None) -> Iterator[BassNote]:
    yield BassNote(start=one.start, beats=one.beats, pitch=root)


def _two(one: Struck, root: int, following: int | None) -> Iterator[BassNote]:
    """Root, fifth, root, fifth: a half note each, a last lone beat its own."""
    at, turn = Fraction(0), 0
    fifth = root + _fifth(one)
    while at < one.beats:
        length = min(Fraction(2), one.beats - at)
        yield BassNote(start=one.start + at, beats=length, pitch=fifth if turn % 2 else root)
        at, turn = at + length, turn + 1


def _fifth(one: Struck) -> int:
    degrees = one.chord.row.degrees
    return next((pitch_class(name) for name in FIFTHS if name in degrees), 7)


def _walk(one: Struck, root: int, following: int | None) -> Iterator[BassNote]:
    """A note a beat, the last of them leading into the next root."""
    beats = int(one.beats)
    line = _line(one, root, following if following is not None else root, beats)
    for i, pitch in enumerate(line):
        rest = one.beats - beats if i == len(line) - 1 else Fraction(0)
        yield BassNote(start=one.start + i, beats=1 + rest, pitch=pitch)
    if not beats:
        yield BassNote(start=one.start, beats=one.beats, pitch=root)


def _line(one: Struck, root: int, goal: int, beats: int) -> list[int]:
    """The root, chord tones towards the goal, and a step into it."""
    if beats < 2:
        return [root] * beats
    last = _lead(root, goal)
    tones = [
        pitch
        for pitch in range(LOWEST, HIGHEST + 1)
        if (pitch - root) % 12 in one.chord.row.intervals[:CHORD_TONES]
        and pitch not in (root, last)
    ]
    return [root, *_between(root, last, tones, beats - 2), last]


def _lead(root: int, goal: int) -> int:
    """The note before the next root: a half step from the side one comes from, else its fifth."""
    if goal == root:
        return min(root + 7, HIGHEST)
    step = goal - 1 if root < goal else goal + 1
    if step == root or step < LOWEST:
        return goal + 7 if goal + 7 <= HIGHEST else goal - 5
    return step


def _between(root: int, last: int, tones: Sequence[int], count: int) -> list[int]:
    """So many chord tones on the way, evenly spaced in pitch, none twice in a row."""
    found: list[int] = []
    for i in range(count):
        wanted = root + (last - root) * (i + 1) / (count + 1)
        before = found[-1] if found else root
        near = [pitch for pitch in tones if pitch != before] or [root]
        found.append(min(near, key=lambda pitch: (abs(pitch - wanted), pitch)))
    return found


STYLES: dict[str, Callable[[Struck, int, int | None], Iterator[BassNote]]] = {
    "roots": _roots,
    "two": _two,
    "walk": _walk,
}
