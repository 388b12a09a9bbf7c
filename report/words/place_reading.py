"""Reading a place in a take, however it is spelled: what reports print is read back.

``bar 5, beat 3`` or ``5.3`` (``5.3&``, ``5.3+1/3`` as `places` writes parts of a beat), ``bar 5``
for its first beat, the clock ``0:27.2``, or seconds: ``27.2 s``, and ``27`` without a point. A
number with a point is a place in the bars of a take that has them, as tables print it, and
seconds in a take without.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from stackline.report.words.places import beat_text
from stackline.shared.complaint import Complaint
from stackline.shared.swing import LATE, STRAIGHT
from stackline.shared.take import Take

HOW = 'write "bar 5, beat 3", 5.3, the clock 0:27.2, or seconds, 27.2 s'
PART = r"(?:[&ea]|\+\d+/\d+)?"
_WORDS = re.compile(rf"bar\s*(\d+)(?:\s*,?\s*beat\s*(\d+)({PART}))?", re.IGNORECASE)
_SHORT = re.compile(rf"(\d+)\.(\d+)({PART})")
_CLOCK = re.compile(r"(\d+):([0-5]?\d(?:\.\d+)?)")
_SECONDS = re.compile(r"(\d+(?:\.\d+)?)\s*(s|seconds)?", re.IGNORECASE)
# Beats after the beat that was named.
_PARTS = {"": Fraction(0), "&": STRAIGHT, "e": Fraction(1, 4), "a": Fraction(3, 4)}


@dataclass(frozen=True, kw_only=True)
class Place:
    """A place as it was typed: seconds, or bar and beat, or both where it may be either."""

    typed: str
    seconds: float | None = None
    bar: int | None = None
    beat: Fraction = Fraction(1)


def read_place(text: str) -> Place:
    """A place in any of its spellings; Complaint for anything else."""
    typed = text.strip()
    words, clock = _WORDS.fullmatch(typed), _CLOCK.fullmatch(typed)
    short, seconds = _SHORT.fullmatch(typed), _SECONDS.fullmatch(typed)
    if len(typed) > 40:
        raise Complaint(f"a place of {len(typed)} letters cannot be read: {HOW}")
    if words:
        beat = _beat(words[2], words[3]) if words[2] else Fraction(1)
        return Place(typed=typed, bar=int(words[1]), beat=beat)
    if clock:
        return Place(typed=typed, seconds=60 * int(clock[1]) + float(clock[2]))
    if seconds and (seconds[2] or "." not in typed):
        return Place(typed=typed, seconds=float(seconds[1]))
    if short:
        plain = float(f"{short[1]}.{short[2]}") if not short[3] else None
        beat = _beat(short[2], short[3])
        return Place(typed=typed, seconds=plain, bar=int(short[1]), beat=beat)
    raise Complaint(f"{typed!r} is no place in a take: {HOW}")


def _beat(number: str, part: str) -> Fraction:
    if part.startswith("+"):
        above, below = part[1:].split("/")
        return int(number) + (Fraction(int(above), int(below)) if int(below) else Fraction(0))
    return int(number) + _PARTS[part]


def seconds_of(place: Place, take: Take) -> float:
    """When a place of a take is, in seconds; Complaint where the take has no such place.

    Where something is struck at the place it is when that begins.
    """
    if place.bar is None or (not take.grid.beats and place.seconds is not None):
        return place.seconds or 0.0
    if not take.grid.beats:
        raise Complaint(
            f"{place.typed!r}: no bars were found in this take; write the clock, 0:27.2"
        )
    struck = _struck_at(place, take)
    return struck if struck is not None else _between_beats(place, take)


def _struck_at(place: Place, take: Take) -> float | None:
    """The onset of what is struck there; a swung "and" is the late one."""
    same = {place.beat}
    if place.beat % 1 == STRAIGHT:
        same.add(int(place.beat) + LATE)
    for attack in take.attacks:
        at = attack.position
        if at is not None and at.bar == place.bar and at.beat in same:
            return attack.onset_s
    return None


def _between_beats(place: Place, take: Take) -> float:
    beats, bars = take.grid.beats, take.grid.bars()
    for i, (beat, bar) in enumerate(zip(beats, bars, strict=True)):
        if bar == place.bar and beat.number == int(place.beat):
            before = beats[i - 1].time_s if i else beat.time_s
            after = beats[i + 1].time_s if i + 1 < len(beats) else 2 * beat.time_s - before
            return beat.time_s + float(place.beat % 1) * (after - beat.time_s)
    where = f"bar {place.bar}, beat {beat_text(place.beat)}"
    also = f"; for seconds write {place.seconds:g} s" if place.seconds is not None else ""
    raise Complaint(f"{place.typed!r}: the take has no {where} (its bars go to {max(bars)}){also}")
