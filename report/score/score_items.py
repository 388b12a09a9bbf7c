"""One line of one bar: stretches of sound cut into note values and rests, with their ties."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from stackline.report.score.note_values import Meter, pieces, triplet_beats
from stackline.report.score.score_lines import Span, Voice
from stackline.report.score.score_model import Value
from stackline.report.score.score_time import BarSpan

WHOLE = Value(name="whole")
SLOT = Value(name="quarter")


@dataclass(frozen=True, kw_only=True)
class Segment:
    """A stretch of one line in which nothing changes, in beats from the first bar.

    sounding: indices of spans, by pitch; empty for silence.
    """

    start: Fraction
    end: Fraction
    sounding: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A note value on its place in the bar, without spelling. ties: into and out of each note."""

    start: Fraction
    length: Fraction
    value: Value
    sounding: tuple[int, ...] = ()
    ties: tuple[tuple[bool, bool], ...] = ()
    whole_bar: bool = False


def segments(notes: Sequence[Span], staff: int, voice: Voice, end: Fraction) -> list[Segment]:
    """The line of one voice from the first bar to `end`, without gaps."""
    mine = [i for i, one in enumerate(notes) if one.staff == staff and one.voice == voice]
    places = {Fraction(0), end}
    for i in mine:
        places |= {notes[i].start, notes[i].end}
    found: list[Segment] = []
    sounding: list[int] = []
    coming = iter([*mine, None])
    upcoming = next(coming)
    order = sorted(places)
    for start, stop in pairwise(order):
        sounding = [i for i in sounding if notes[i].end > start]
        while upcoming is not None and notes[upcoming].start == start:
            if notes[upcoming].end > start:
                sounding.append(upcoming)
            upcoming = next(coming)
        now = tuple(sorted(sounding, key=lambda i: notes[i].midi))
        if found and not now and not found[-1].sounding:
            found[-1] = Segment(start=found[-1].start, end=stop, sounding=())
        else:
            found.append(Segment(start=start, end=stop, sounding=now))
    return found


def drafts(line: Sequence[Segment], bar: BarSpan, notes: Sequence[Span]) -> list[Draft]:
    """The values of one line in one bar; `line` holds the stretches that touch the bar.

    Silence is one rest for the whole bar, but counted out in a pickup.
    """
    first, last = Fraction(bar.start), Fraction(bar.end)
    inside = [
        (max(one.start, first) - first, min(one.end, last) - first, one.sounding) for one in line
    ]
    if not bar.missing and not any(sounding for _, _, sounding in inside):
        length = Fraction(bar.end - bar.start)
        value = WHOLE if bar.slot_s is None else SLOT
        return [Draft(start=Fraction(0), length=length, value=value, whole_bar=True)]
    meter = Meter(beats=bar.beats, missing=Fraction(bar.missing))
    places = [place for start, end, _ in inside for place in (start, end)]
    triplets = triplet_beats(places, meter)
    return [
        _draft(low, high, value, sounding, bar, notes)
        for start, end, sounding in inside
        for low, high, value in pieces(start, end, meter, triplets, not sounding)
    ]


def _draft(
    low: Fraction, high: Fraction, value: Value, sounding: tuple[int, ...], bar: BarSpan,
    notes: Sequence[Span],
) -> Draft:  # fmt: skip
    start, end = low + bar.start, high + bar.start
    ties = tuple((notes[i].start < start, notes[i].end > end) for i in sounding)
    return Draft(start=low, length=high - low, value=value, sounding=sounding, ties=ties)


def touching(line: Sequence[Segment], bars: Sequence[BarSpan]) -> Iterator[list[Segment]]:
    """For each bar, the stretches of a line that touch it."""
    at = 0
    for bar in bars:
        while line[at].end <= bar.start:
            at += 1
        last = at
        while last + 1 < len(line) and line[last + 1].start < bar.end:
            last += 1
        yield list(line[at : last + 1])
