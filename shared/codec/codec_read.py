"""A take from JSON, format 1: the reading half, strict.

Unknown fields are refused, indices are checked, and every error says where in the
document it stands. ``from_json(to_json(take)) == take`` for every take. The fields that
`codec_write` says came later may be absent.
"""

import json
from collections.abc import Callable
from fractions import Fraction
from typing import Any, TypeVar, get_args

from stackline.shared.codec.strict import Fields, kind, text, whole
from stackline.shared.complaint import Complaint
from stackline.shared.harmony import (
    Alternative,
    ChordSpan,
    ChordSymbol,
    CommonTone,
    Degree,
    Doubling,
    Motion,
    Outcome,
    Parallel,
    ParallelKind,
    ReadingSource,
    Resolution,
    Tone,
    TopKind,
    TopMove,
    VoiceMove,
    Voicing,
)
from stackline.shared.notes import (
    FINEST_BEAT,
    Attack,
    Beat,
    BeatGrid,
    GridSource,
    Note,
    Passage,
    Position,
    Span,
    SpanKind,
)
from stackline.shared.rhythm import NO_RHYTHM, BarRhythm, ChordPlace, HarmonicRhythm, Placing
from stackline.shared.take import FORMAT, Source, Take

T = TypeVar("T")


def from_json(document: str) -> Take:
    """Read a take; raises Complaint with one sentence for anything that is not format 1."""
    try:
        data = json.loads(document)
    except json.JSONDecodeError as error:
        raise Complaint(f"not JSON: {error.msg} at line {error.lineno}") from error
    return from_data(data)


def from_data(data: object) -> Take:
    """Read a take from what `json.loads` gives."""
    fields = Fields(data, "take")
    found = fields.any("format")
    if found != FORMAT:
        raise Complaint(f"take.format: found {kind(found)}, this reader knows format {FORMAT}")
    notes = fields.each("notes", _checked(_note))
    attacks = fields.each("attacks", _checked(lambda one: _attack(one, notes)))
    voicings = fields.each("voicings", _checked(lambda one: _voicing(one, attacks)))
    meter = Fields(fields.any("meter"), "take.meter")
    take = Take(
        version=fields.text("version"),
        source=_checked(_source)(fields.any("audio"), "take.audio"),
        ear=fields.text("ear"),
        tuning_cents=fields.number("tuning_cents"),
        grid=BeatGrid(
            beats=fields.each("beats", _checked(_beat)),
            tempo_bpm=fields.maybe_number("tempo_bpm"),
            beats_per_bar=meter.whole("beats_per_bar"),
            source=meter.one_of("source", get_args(GridSource)),
            confidence=meter.number("confidence"),
            out_of_time=fields.later(
                "out_of_time", lambda: fields.each("out_of_time", _checked(_passage)), ()
            ),
        ),
        notes=notes,
        attacks=attacks,
        voicings=voicings,
        motions=fields.each("motions", _checked(_motion)),
        not_playing=fields.later(
            "not_playing", lambda: fields.each("not_playing", _checked(_span)), ()
        ),
        swing_ratio=fields.later("swing_ratio", lambda: fields.maybe_number("swing_ratio"), None),
        rhythm=fields.later(
            "rhythm",
            lambda: _checked(lambda one: _rhythm(one, voicings))(
                fields.any("rhythm"), "take.rhythm"
            ),
            NO_RHYTHM,
        ),
    )
    meter.close()
    fields.close()
    return take


def _checked(read: Callable[[Fields], T]) -> Callable[[Any, str], T]:
    """Wrap a reader of fields: open the object, read it, refuse leftovers, place errors."""

    def reader(data: Any, where: str) -> T:
        fields = Fields(data, where)
        try:
            record = read(fields)
        except Complaint:
            raise
        except ValueError as error:
            raise Complaint(f"{where}: {error}") from error
        fields.close()
        return record

    return reader


def _pick(pool: tuple[T, ...], index: int, what: str) -> T:
    if not 0 <= index < len(pool):
        raise ValueError(f"points at {what} {index}, but there are {len(pool)}")
    return pool[index]


def _source(fields: Fields) -> Source:
    return Source(
        name=fields.text("name"),
        duration_s=fields.number("duration_s"),
        sha256=fields.text("sha256"),
    )


def _beat(fields: Fields) -> Beat:
    fields.skip("notes")
    return Beat(time_s=fields.number("time_s"), number=fields.whole("number"))


def _passage(fields: Fields) -> Passage:
    return Passage(start_s=fields.number("start_s"), end_s=fields.number("end_s"))


def _span(fields: Fields) -> Span:
    return Span(
        start_s=fields.number("start_s"),
        end_s=fields.number("end_s"),
        kind=fields.one_of("kind", get_args(SpanKind)),
    )


def _rhythm(fields: Fields, voicings: tuple[Voicing, ...]) -> HarmonicRhythm:
    return HarmonicRhythm(
        chords=fields.each("chords", _checked(lambda one: _chord_place(one, voicings))),
        bars=fields.each("bars", _checked(_bar)),
    )


def _chord_place(fields: Fields, voicings: tuple[Voicing, ...]) -> ChordPlace:
    beats, first = fields.maybe_number("beats"), fields.whole("voicing")
    _pick(voicings, first, "voicing")
    return ChordPlace(
        voicing=first,
        voicings=fields.whole("voicings"),
        start_s=fields.number("start_s"),
        end_s=fields.number("end_s"),
        position=fields.maybe("position", _checked(_position)),
        placing=fields.one_of("placing", (None, *get_args(Placing))),
        beats=None if beats is None else Fraction(beats).limit_denominator(FINEST_BEAT),
    )


def _bar(fields: Fields) -> BarRhythm:
    return BarRhythm(
        bar=fields.whole("bar"), chords=fields.whole("chords"), figure=fields.text("figure")
    )


def _note(fields: Fields) -> Note:
    fields.skip("position")
    return Note(
        onset_s=fields.number("onset_s"),
        offset_s=fields.number("offset_s"),
        midi=fields.whole("midi"),
        velocity=fields.whole("velocity"),
        confidence=fields.number("confidence"),
    )


def _position(fields: Fields) -> Position:
    beat = Fraction(fields.number("beat")).limit_denominator(FINEST_BEAT)
    return Position(bar=fields.whole("bar"), beat=beat)


def _attack(fields: Fields, notes: tuple[Note, ...]) -> Attack:
    def note(value: Any, where: str) -> Note:
        return _pick(notes, whole(value, where), "note")

    return Attack(
        onset_s=fields.number("onset_s"),
        spread_s=fields.number("spread_s"),
        position=fields.maybe("position", _checked(_position)),
        struck=fields.each("struck", note),
        held=fields.each("held", note),
    )


def _symbol(fields: Fields) -> ChordSymbol:
    return ChordSymbol(
        text=fields.text("symbol"),
        harte=fields.text("harte"),
        root=fields.text("root"),
        quality=fields.text("quality"),
        bass=fields.maybe_text("bass"),
    )


def _alternative(fields: Fields) -> Alternative:
    return Alternative(
        symbol=_symbol(fields),
        confidence=fields.number("confidence"),
        reason=fields.text("reason"),
    )


def _chord(fields: Fields) -> ChordSpan:
    return ChordSpan(
        symbol=_symbol(fields),
        start_s=fields.number("start_s"),
        end_s=fields.number("end_s"),
        source=fields.one_of("source", get_args(ReadingSource)),
        confidence=fields.number("confidence"),
        alternatives=fields.each("alternatives", _checked(_alternative)),
    )


def _doubling(fields: Fields) -> Doubling:
    return Doubling(
        degree=Degree.parse(fields.text("degree")),
        count=fields.whole("count"),
        distance=fields.whole("distance"),
    )


def _degree(value: Any, where: str) -> Degree:
    return Degree.parse(text(value, where))


def _tones(fields: Fields) -> tuple[Tone, ...]:
    pitches = fields.each("midi", whole)
    names = fields.each("names", text)
    stack = fields.each("stack", _degree)
    left, right = fields.each("left", whole), fields.each("right", whole)
    held = fields.each("held", whole)
    if not len(pitches) == len(names) == len(stack):
        raise ValueError("midi, names and stack must be of one length")
    if sorted(left + right) != sorted(pitches):
        raise ValueError("left and right must together hold each note of midi once")
    return tuple(
        Tone(
            midi=midi,
            name=name,
            degree=degree,
            hand="left" if midi in left else "right",
            held=midi in held,
        )
        for midi, name, degree in zip(pitches, names, stack, strict=True)
    )


def _voicing(fields: Fields, attacks: tuple[Attack, ...]) -> Voicing:
    fields.skip("onset_s", "offset_s", "position", "top")
    return Voicing(
        attack=_pick(attacks, fields.whole("attack"), "attack"),
        chord=_checked(_chord)(fields.any("chord"), "chord"),
        tones=_tones(fields),
        structures=fields.each("structures", text),
        doublings=fields.each("doublings", _checked(_doubling)),
        hands_confidence=fields.number("hands_confidence"),
        confidence=fields.number("confidence"),
        warnings=fields.each("warnings", text),
    )


def _move(value: Any, where: str) -> VoiceMove:
    if not isinstance(value, list) or len(value) != 2:
        raise Complaint(f"{where}: found {kind(value)}, expected [from, to]")
    low, high = (None if one is None else whole(one, where) for one in value)
    return VoiceMove(from_midi=low, to_midi=high)


def _top(fields: Fields) -> TopMove:
    return TopMove(
        semitones=fields.whole("semitones"),
        kind=fields.one_of("kind", get_args(TopKind)),
        from_degree=Degree.parse(fields.text("from_degree")),
        to_degree=Degree.parse(fields.text("to_degree")),
    )


def _common(fields: Fields) -> CommonTone:
    return CommonTone(
        midi=fields.whole("midi"),
        from_degree=Degree.parse(fields.text("from_degree")),
        to_degree=Degree.parse(fields.text("to_degree")),
    )


def _resolution(fields: Fields) -> Resolution:
    return Resolution(
        degree=Degree.parse(fields.text("degree")),
        midi=fields.whole("midi"),
        outcome=fields.one_of("outcome", get_args(Outcome)),
        to=fields.maybe("to", _degree),
        to_midi=fields.maybe_whole("to_midi"),
    )


def _parallel(fields: Fields) -> Parallel:
    return Parallel(
        kind=fields.one_of("kind", get_args(ParallelKind)),
        semitones=fields.whole("semitones"),
    )


def _motion(fields: Fields) -> Motion:
    return Motion(
        from_index=fields.whole("from"),
        to_index=fields.whole("to"),
        top=_checked(_top)(fields.any("top"), "top"),
        moves=fields.each("moves", _move),
        common_tones=fields.each("common_tones", _checked(_common)),
        guide_tones=fields.each("guide_tones", _move),
        resolutions=fields.each("resolutions", _checked(_resolution)),
        parallel=fields.maybe("parallel", _checked(_parallel)),
    )
