"""When chords change and how bars are struck, from JSON (see `codec_read`)."""

from fractions import Fraction
from typing import Any, get_args

from stackline.shared.codec.codec_facts import LAST_BAR, LONGEST_S, pick, position, seconds
from stackline.shared.codec.strict import LARGEST_WHOLE, Fields, number, record, whole
from stackline.shared.harmony import Voicing
from stackline.shared.notes import FINEST_BEAT
from stackline.shared.rhythm import BarRhythm, ChordPlace, HarmonicRhythm, Placing


def _beats(value: Any, where: str) -> Fraction:
    return Fraction(number(value, where, 0.0, LONGEST_S)).limit_denominator(FINEST_BEAT)


@record
def _bar(fields: Fields) -> BarRhythm:
    return BarRhythm(
        bar=fields.whole("bar", -LAST_BAR, LAST_BAR),
        chords=fields.whole("chords", 0),
        figure=fields.text("figure"),
    )


def rhythm(value: Any, where: str, voicings: tuple[Voicing, ...]) -> HarmonicRhythm:
    """The harmonic rhythm of a take; raises Complaint."""

    def index(value: Any, where: str) -> int:
        pick(voicings, value, where, "voicing")
        return whole(value, where)

    @record
    def chord_place(fields: Fields) -> ChordPlace:
        return ChordPlace(
            voicing=fields.one("voicing", index),
            voicings=fields.whole("voicings", 1, LARGEST_WHOLE),
            start_s=fields.one("start_s", seconds),
            end_s=fields.one("end_s", seconds),
            position=fields.maybe("position", position),
            placing=fields.one_of("placing", (None, *get_args(Placing))),
            beats=fields.maybe("beats", _beats),
        )

    @record
    def read(fields: Fields) -> HarmonicRhythm:
        return HarmonicRhythm(
            chords=fields.each("chords", chord_place), bars=fields.each("bars", _bar)
        )

    return read(value, where)
