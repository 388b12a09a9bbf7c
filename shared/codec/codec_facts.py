"""What was heard, from JSON: source, notes, beats, attacks, spans (see `codec_read`).

Each reader takes a value and its place in the document, and raises Complaint.
"""

from fractions import Fraction
from typing import Any, TypeVar, get_args

from stackline.shared.codec.strict import Fields, number, record, whole
from stackline.shared.complaint import Complaint
from stackline.shared.notes import (
    FINEST_BEAT,
    Attack,
    Beat,
    BeatGrid,
    CutFrom,
    GridSource,
    Note,
    Passage,
    Position,
    Span,
    SpanKind,
)
from stackline.shared.take import Source

T = TypeVar("T")

LONGEST_S = 1e6  # eleven days: no recording is longer
LAST_BAR = 1_000_000  # bars before or after the first that a place may name (ours)
MOST_BEATS = 1000  # in one bar, or in one chord
MOST_PER_BAR = 16  # beats in a bar (ours)
SLOWEST_BPM, FASTEST_BPM = 1.0, 1000.0


def seconds(value: Any, where: str) -> float:
    """A moment of the recording, or a length."""
    return number(value, where, 0.0, LONGEST_S)


def chance(value: Any, where: str) -> float:
    """A confidence."""
    return number(value, where, 0.0, 1.0)


def pick(pool: tuple[T, ...], value: Any, where: str, what: str) -> T:
    """The one of a list that an index points at."""
    index = whole(value, where)
    if not 0 <= index < len(pool):
        raise Complaint(f"{where}: points at {what} {index}, but there are {len(pool)}")
    return pool[index]


@record
def cut_from(fields: Fields) -> CutFrom:
    """Of which recording it is a section."""
    return CutFrom(
        name=fields.text("name"),
        sha256=fields.text("sha256"),
        number=fields.whole("number", 1),
        start_s=fields.one("start_s", seconds),
        end_s=fields.one("end_s", seconds),
    )


@record
def source(fields: Fields) -> Source:
    """Whose sound it is."""
    return Source(
        name=fields.text("name"),
        duration_s=fields.one("duration_s", seconds),
        sha256=fields.text("sha256"),
        broken_off_s=fields.later(
            "broken_off_s", lambda: fields.maybe("broken_off_s", seconds), None
        ),
        unread=fields.later("unread", lambda: fields.each("unread", passage), ()),
        cut_from=fields.later("cut_from", lambda: fields.maybe("cut_from", cut_from), None),
    )


def _place(value: Any, where: str) -> int:
    return whole(value, where, low=0)


@record
def beat(fields: Fields) -> Beat:
    """One beat; the notes in it follow from the attacks."""
    fields.later("notes", lambda: fields.each("notes", _place), None)
    return Beat(time_s=fields.one("time_s", seconds), number=fields.whole("number", 1, MOST_BEATS))


@record
def passage(fields: Fields) -> Passage:
    """A passage out of time."""
    return Passage(start_s=fields.one("start_s", seconds), end_s=fields.one("end_s", seconds))


@record
def span(fields: Fields) -> Span:
    """A stretch of another sound."""
    return Span(
        start_s=fields.one("start_s", seconds),
        end_s=fields.one("end_s", seconds),
        kind=fields.one_of("kind", get_args(SpanKind)),
    )


def grid(fields: Fields) -> BeatGrid:
    """Beats, tempo and meter, which stand in the take itself."""
    meter = Fields(fields.any("meter"), "take.meter")
    found = BeatGrid(
        beats=fields.each("beats", beat),
        tempo_bpm=fields.maybe(
            "tempo_bpm", lambda one, at: number(one, at, SLOWEST_BPM, FASTEST_BPM)
        ),
        beats_per_bar=meter.whole("beats_per_bar", 1, MOST_PER_BAR),
        source=meter.one_of("source", get_args(GridSource)),
        confidence=meter.one("confidence", chance),
        out_of_time=fields.later("out_of_time", lambda: fields.each("out_of_time", passage), ()),
    )
    meter.close()
    return found


@record
def position(fields: Fields) -> Position:
    """A place in the music."""
    beats = Fraction(fields.number("beat", 1, MOST_BEATS)).limit_denominator(FINEST_BEAT)
    return Position(bar=fields.whole("bar", -LAST_BAR, LAST_BAR), beat=beats)


@record
def note(fields: Fields) -> Note:
    """One note; its position is that of the attack it is struck in."""
    fields.later("position", lambda: fields.maybe("position", position), None)
    return Note(
        onset_s=fields.one("onset_s", seconds),
        offset_s=fields.one("offset_s", seconds),
        midi=fields.whole("midi"),
        velocity=fields.whole("velocity"),
        confidence=fields.one("confidence", chance),
        line=fields.later("line", lambda: fields.one("line", chance), 0.0),
    )


def attack(value: Any, where: str, notes: tuple[Note, ...]) -> Attack:
    """Notes struck together, by their places in `notes`."""

    def one_note(value: Any, where: str) -> Note:
        return pick(notes, value, where, "note")

    @record
    def read(fields: Fields) -> Attack:
        struck = fields.each("struck", one_note)
        if not struck:
            raise ValueError("struck is empty, expected one note or more")
        return Attack(
            onset_s=fields.one("onset_s", seconds),
            spread_s=fields.one("spread_s", seconds),
            position=fields.maybe("position", position),
            struck=struck,
            held=fields.each("held", one_note),
        )

    return read(value, where)
