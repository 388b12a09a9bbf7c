"""A take as JSON, format 1: the writing half (see `codec_read` for the other).

The names are a promise to other programs. Notes are listed once and pointed at by index
from beats and attacks; an attack is pointed at from its voicing. `notes` inside a beat
and `stack`, `midi`, `left`, `right`, `top` inside a voicing are for the reader's comfort:
they follow from the rest, and reading checks them or passes over them.
Beats within a bar are numbers (2.5 is the "and" of two); 1/3 is written as 0.333333.

A note's `position` is that of the attack it is struck in, and follows from it. Nine fields
joined the format after its first release: `not_playing`, `swing_ratio`, `rhythm`, `out_of_time`,
in `audio` `broken_off_s`, `unread` and `cut_from`, in a note `line` and in a voicing `under`. They
are always written; a document without them is still read, as a take in which they are not known.
Readers that refuse unknown fields and are older than these fields refuse new documents.
"""

import json
from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from stackline.shared.harmony import (
    Alternative,
    ChordSpan,
    ChordSymbol,
    Motion,
    Parallel,
    Resolution,
    Tone,
    TopMove,
    VoiceMove,
    Voicing,
)
from stackline.shared.notes import Attack, Beat, Note, Passage, Position, Span
from stackline.shared.rhythm import BarRhythm, ChordPlace
from stackline.shared.take import FORMAT, Source, Take, notes_per_beat

Json = dict[str, Any]


def to_json(take: Take) -> str:
    """The take as JSON text, a line for each entry of a list, ending in a newline."""
    lines = [f'  "{name}": {_in_lines(value)}' for name, value in to_data(take).items()]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def _in_lines(value: object) -> str:
    """A list with a line for each entry, anything else on one line."""
    if not isinstance(value, list) or not value:
        return _on_one_line(value)
    return "[\n" + ",\n".join(f"    {_on_one_line(one)}" for one in value) + "\n  ]"


def _on_one_line(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def to_data(take: Take) -> Json:
    """The take as plain lists and dictionaries, ready for `json`."""
    index = {note: i for i, note in enumerate(take.notes)}
    attack_index = {attack: i for i, attack in enumerate(take.attacks)}
    places = {note: attack.position for attack in take.attacks for note in attack.struck}
    return {
        "format": FORMAT,
        "version": take.version,
        "audio": source_data(take.source),
        "ear": take.ear,
        "tuning_cents": take.tuning_cents,
        "tempo_bpm": take.grid.tempo_bpm,
        "meter": {
            "beats_per_bar": take.grid.beats_per_bar,
            "source": take.grid.source,
            "confidence": take.grid.confidence,
        },
        "beats": _beats(take, index),
        "out_of_time": _passages(take.grid.out_of_time),
        "swing_ratio": take.swing_ratio,
        "notes": [_note(note, places.get(note)) for note in take.notes],
        "attacks": [_attack(attack, index) for attack in take.attacks],
        "voicings": [_voicing(voicing, attack_index) for voicing in take.voicings],
        "motions": [_motion(motion) for motion in take.motions],
        "rhythm": {
            "chords": [_chord_place(one) for one in take.rhythm.chords],
            "bars": [_bar(one) for one in take.rhythm.bars],
        },
        "not_playing": [_span(span) for span in take.not_playing],
    }


def source_data(source: Source) -> Json:
    """Whose sound it is, and of which recording a section."""
    cut = source.cut_from
    return {
        "name": source.name,
        "duration_s": source.duration_s,
        "sha256": source.sha256,
        "broken_off_s": source.broken_off_s,
        "unread": _passages(source.unread),
        "cut_from": None if cut is None else {
            "name": cut.name, "sha256": cut.sha256, "number": cut.number,
            "start_s": cut.start_s, "end_s": cut.end_s,
        },
    }  # fmt: skip


def _beats(take: Take, index: dict[Note, int]) -> list[Json]:
    return [_beat(beat, [index[note] for note in row.notes])
            for beat, row in zip(take.grid.beats, notes_per_beat(take), strict=True)]  # fmt: skip


def _beat(beat: Beat, notes: list[int]) -> Json:
    return {"time_s": beat.time_s, "number": beat.number, "notes": notes}


def _note(note: Note, position: Position | None) -> Json:
    return {
        "onset_s": note.onset_s,
        "offset_s": note.offset_s,
        "midi": note.midi,
        "velocity": note.velocity,
        "confidence": note.confidence,
        "line": note.line,
        "position": _position(position),
    }


def _span(span: Span) -> Json:
    return {"start_s": span.start_s, "end_s": span.end_s, "kind": span.kind}


def _chord_place(one: ChordPlace) -> Json:
    return {
        "voicing": one.voicing,
        "voicings": one.voicings,
        "start_s": one.start_s,
        "end_s": one.end_s,
        "position": _position(one.position),
        "placing": one.placing,
        "beats": None if one.beats is None else _beats_number(one.beats),
    }


def _bar(one: BarRhythm) -> Json:
    return {"bar": one.bar, "chords": one.chords, "figure": one.figure}


def _beats_number(beats: Fraction) -> int | float:
    return int(beats) if beats.denominator == 1 else round(float(beats), 6)


def _position(position: Position | None) -> Json | None:
    if position is None:
        return None
    return {"bar": position.bar, "beat": _beats_number(position.beat)}


def _attack(attack: Attack, index: dict[Note, int]) -> Json:
    return {
        "onset_s": attack.onset_s,
        "spread_s": attack.spread_s,
        "position": _position(attack.position),
        "struck": [index[note] for note in attack.struck],
        "held": [index[note] for note in attack.held],
    }


def symbol_data(symbol: ChordSymbol) -> Json:
    """A chord symbol's fields, shared by the chosen reading and its alternatives."""
    return {
        "symbol": symbol.text,
        "harte": symbol.harte,
        "root": symbol.root,
        "quality": symbol.quality,
        "bass": symbol.bass,
    }


def _alternative(alternative: Alternative) -> Json:
    return symbol_data(alternative.symbol) | {
        "confidence": alternative.confidence,
        "reason": alternative.reason,
    }


def _chord(chord: ChordSpan) -> Json:
    return symbol_data(chord.symbol) | {
        "start_s": chord.start_s,
        "end_s": chord.end_s,
        "source": chord.source,
        "confidence": chord.confidence,
        "alternatives": [_alternative(one) for one in chord.alternatives],
    }


def _tone(tone: Tone) -> Json:
    return {"midi": tone.midi, "name": tone.name, "degree": str(tone.degree)}


def _voicing(voicing: Voicing, attack_index: dict[Attack, int]) -> Json:
    def hand(side: str) -> list[int]:
        return [tone.midi for tone in voicing.tones if tone.hand == side]

    return {
        "attack": attack_index[voicing.attack],
        "onset_s": voicing.attack.onset_s,
        "offset_s": voicing.attack.offset_s,
        "position": _position(voicing.attack.position),
        "midi": list(voicing.pitches),
        "names": [tone.name for tone in voicing.tones],
        "left": hand("left"),
        "right": hand("right"),
        "held": [tone.midi for tone in voicing.tones if tone.held],
        "hands_confidence": voicing.hands_confidence,
        "chord": _chord(voicing.chord),
        "stack": [str(degree) for degree in voicing.stack],
        "structures": list(voicing.structures),
        "doublings": [
            {"degree": str(one.degree), "count": one.count, "distance": one.distance}
            for one in voicing.doublings
        ],
        "warnings": list(voicing.warnings),
        "confidence": voicing.confidence,
        "top": _tone(voicing.top),
        "under": [_tone(tone) for tone in voicing.under],
    }


def _moves(moves: tuple[VoiceMove, ...]) -> list[list[int | None]]:
    return [[move.from_midi, move.to_midi] for move in moves]


def _top(top: TopMove) -> Json:
    return {
        "semitones": top.semitones,
        "kind": top.kind,
        "from_degree": str(top.from_degree),
        "to_degree": str(top.to_degree),
    }


def _resolution(resolution: Resolution) -> Json:
    return {
        "degree": str(resolution.degree),
        "midi": resolution.midi,
        "outcome": resolution.outcome,
        "to": None if resolution.to is None else str(resolution.to),
        "to_midi": resolution.to_midi,
    }


def _parallel(parallel: Parallel | None) -> Json | None:
    if parallel is None:
        return None
    return {"kind": parallel.kind, "semitones": parallel.semitones}


def _motion(motion: Motion) -> Json:
    return {
        "from": motion.from_index,
        "to": motion.to_index,
        "top": _top(motion.top),
        "moves": _moves(motion.moves),
        "common_tones": [
            {
                "midi": tone.midi,
                "from_degree": str(tone.from_degree),
                "to_degree": str(tone.to_degree),
            }
            for tone in motion.common_tones
        ],
        "guide_tones": _moves(motion.guide_tones),
        "resolutions": [_resolution(one) for one in motion.resolutions],
        "parallel": _parallel(motion.parallel),
    }


def _passages(passages: Iterable[Passage]) -> list[Json]:
    return [{"start_s": one.start_s, "end_s": one.end_s} for one in passages]
