"""The names given to what was heard, from JSON: chords, voicings, motion (see `codec_read`).

Each reader takes a value and its place in the document, and raises Complaint.
"""

from typing import Any, get_args

from stackline.shared.codec.codec_facts import chance, pick, position, seconds
from stackline.shared.codec.strict import Fields, kind, record, text, whole
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
from stackline.shared.notes import Attack
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI, N_KEYS


def _midi(value: Any, where: str) -> int:
    return whole(value, where, LOWEST_MIDI, HIGHEST_MIDI)


def _degree(value: Any, where: str) -> Degree:
    try:
        return Degree.parse(text(value, where))
    except Complaint:
        raise
    except ValueError as error:
        raise Complaint(f"{where}: {error}") from error


def _symbol(fields: Fields) -> ChordSymbol:
    return ChordSymbol(
        text=fields.text("symbol"),
        harte=fields.text("harte"),
        root=fields.text("root"),
        quality=fields.text("quality"),
        bass=fields.maybe("bass", text),
    )


@record
def _alternative(fields: Fields) -> Alternative:
    return Alternative(
        symbol=_symbol(fields),
        confidence=fields.one("confidence", chance),
        reason=fields.text("reason"),
    )


@record
def _chord(fields: Fields) -> ChordSpan:
    return ChordSpan(
        symbol=_symbol(fields),
        start_s=fields.one("start_s", seconds),
        end_s=fields.one("end_s", seconds),
        source=fields.one_of("source", get_args(ReadingSource)),
        confidence=fields.one("confidence", chance),
        alternatives=fields.each("alternatives", _alternative),
    )


@record
def _doubling(fields: Fields) -> Doubling:
    return Doubling(
        degree=fields.one("degree", _degree),
        count=fields.whole("count", 2, N_KEYS),
        distance=fields.whole("distance", 1, N_KEYS),
    )


def _tones(fields: Fields) -> tuple[Tone, ...]:
    pitches = fields.each("midi", _midi)
    names = fields.each("names", text)
    stack = fields.each("stack", _degree)
    left, right = fields.each("left", whole), fields.each("right", whole)
    held = fields.each("held", whole)
    if not len(pitches) == len(names) == len(stack) > 0:
        raise ValueError("midi, names and stack must be of one length, one or more")
    if list(pitches) != sorted(set(pitches)):
        raise ValueError("midi must rise from note to note")
    if sorted(left + right) != list(pitches):
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


@record
def _tone(fields: Fields) -> tuple[int, str, Degree]:
    return fields.one("midi", _midi), fields.text("name"), fields.one("degree", _degree)


def _under(value: Any, where: str) -> Tone:
    midi, name, degree = _tone(value, where)
    return Tone(midi=midi, name=name, degree=degree, hand="right")


def _what_follows(fields: Fields) -> None:
    """Fields that follow from the rest: read, so that nothing wrong passes, and left."""
    fields.later("onset_s", lambda: fields.one("onset_s", seconds), 0.0)
    fields.later("offset_s", lambda: fields.one("offset_s", seconds), 0.0)
    fields.later("position", lambda: fields.maybe("position", position), None)
    fields.later("top", lambda: fields.one("top", _tone), None)


def voicing(value: Any, where: str, attacks: tuple[Attack, ...]) -> Voicing:
    """An attack with a reading, by the attack's place in `attacks`."""

    @record
    def read(fields: Fields) -> Voicing:
        _what_follows(fields)
        return Voicing(
            attack=fields.one("attack", lambda one, at: pick(attacks, one, at, "attack")),
            chord=fields.one("chord", _chord),
            tones=_tones(fields),
            structures=fields.each("structures", text),
            doublings=fields.each("doublings", _doubling),
            hands_confidence=fields.one("hands_confidence", chance),
            confidence=fields.one("confidence", chance),
            warnings=fields.each("warnings", text),
            under=fields.later("under", lambda: fields.each("under", _under), ()),
        )

    return read(value, where)


def _move(value: Any, where: str) -> VoiceMove:
    if not isinstance(value, list) or len(value) != 2:
        raise Complaint(f"{where}: found {kind(value)}, expected [from, to]")
    low, high = (None if one is None else _midi(one, where) for one in value)
    return VoiceMove(from_midi=low, to_midi=high)


@record
def _top(fields: Fields) -> TopMove:
    return TopMove(
        semitones=fields.whole("semitones", -N_KEYS, N_KEYS),
        kind=fields.one_of("kind", get_args(TopKind)),
        from_degree=fields.one("from_degree", _degree),
        to_degree=fields.one("to_degree", _degree),
    )


@record
def _common(fields: Fields) -> CommonTone:
    return CommonTone(
        midi=fields.one("midi", _midi),
        from_degree=fields.one("from_degree", _degree),
        to_degree=fields.one("to_degree", _degree),
    )


@record
def _resolution(fields: Fields) -> Resolution:
    return Resolution(
        degree=fields.one("degree", _degree),
        midi=fields.one("midi", _midi),
        outcome=fields.one_of("outcome", get_args(Outcome)),
        to=fields.maybe("to", _degree),
        to_midi=fields.maybe("to_midi", _midi),
    )


@record
def _parallel(fields: Fields) -> Parallel:
    return Parallel(
        kind=fields.one_of("kind", get_args(ParallelKind)),
        semitones=fields.whole("semitones", -N_KEYS, N_KEYS),
    )


def motion(value: Any, where: str, voicings: tuple[Voicing, ...]) -> Motion:
    """From one voicing to another, by their places in `voicings`."""

    def index(value: Any, where: str) -> int:
        pick(voicings, value, where, "voicing")
        return whole(value, where)

    @record
    def read(fields: Fields) -> Motion:
        return Motion(
            from_index=fields.one("from", index),
            to_index=fields.one("to", index),
            top=fields.one("top", _top),
            moves=fields.each("moves", _move),
            common_tones=fields.each("common_tones", _common),
            guide_tones=fields.each("guide_tones", _move),
            resolutions=fields.each("resolutions", _resolution),
            parallel=fields.maybe("parallel", _parallel),
        )

    return read(value, where)
