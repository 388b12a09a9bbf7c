"""A review as plain data for JSON, format 1. The names are a promise to other programs."""

from typing import Any

from stackline.practice.review.comparison import Compared, NoteDifference
from stackline.practice.review.review_records import (
    Fault,
    KeyReview,
    Landing,
    PassReview,
    Review,
    VoicingReview,
)
from stackline.practice.targets.targets import Target
from stackline.practice.written.fault_notes import notes_of
from stackline.practice.written.fault_words import in_words
from stackline.practice.written.next_thing import next_thing
from stackline.shared.harmony import Degree

FORMAT = 1  # raised when older readers would misread it
Json = dict[str, Any]


def to_data(review: Review) -> Json:
    """The review as lists and dictionaries."""
    return {
        "format": FORMAT,
        "recording": review.recording,
        "target": target_data(review.target),
        "passes": [_pass(one, review.target) for one in review.passes],
        "false_starts": [
            {"key": one.key_name, "start_s": one.start_s, "chords": one.reached}
            for one in review.false_starts
        ],
        "keys": [key_data(one) for one in review.keys],
        "next": next_thing(review),
    }


def target_data(target: Target) -> Json:
    """A target as data."""
    return {
        "name": target.name,
        "chords": [
            {"chord": one.name(), "beats": float(one.beats),
             "stack": list(map(str, one.stack)) or None, "top": _text(one.intended_top)}
            for one in target.chords
        ],
        "tempo_bpm": target.tempo_bpm,
        "source": target.source,
    }  # fmt: skip


def _pass(one: PassReview, target: Target) -> Json:
    return {
        "key": one.key_name,
        "start_s": one.start_s,
        "end_s": one.end_s,
        "tempo_bpm": one.tempo_bpm,
        "clean": one.clean,
        "unsure": one.unsure,
        "voicings": [_voicing(v, one, target) for v in one.voicings],
        "resolutions": [_landing(x, target) for x in one.landings],
        "waits": [
            {"from": target.chords[w.chord].name(), "seconds": w.seconds, "beats": w.beats,
             "meant_beats": w.meant_beats, "hesitated": w.hesitated}
            for w in one.waits
        ],
        "faults": [_with_names(fault, one, target) for fault in one.faults],
        "doubts": [_with_names(doubt, one, target) for doubt in one.doubts],
    }  # fmt: skip


def _voicing(voicing: VoicingReview, one: PassReview, target: Target) -> Json:
    compared, top = voicing.compared, voicing.top
    return {
        "chord": target.chords[voicing.chord].name(),
        "symbol": target.chords[voicing.chord].symbol(one.key).text,
        "onset_s": voicing.onset_s,
        "status": compared.status,
        "midi": list(compared.pitches),
        "stack": [str(degree) for degree in compared.degrees],
        "meant_midi": list(compared.meant) or None,
        "differences": [_difference(x) for x in compared.differences],
        "octaves": _octaves(compared),
        "guide_tones": dict(compared.guides),
        "top": {"midi": top.midi, "degree": str(top.played), "semitones": top.semitones,
                "meant": _text(top.meant), "as_meant": top.as_meant},
        "note_sure": list(voicing.note_sure),
        "put_right_s": voicing.put_right_s,
    }  # fmt: skip


def _text(degree: Degree | None) -> str | None:
    return None if degree is None else str(degree)


def _octaves(compared: Compared) -> int | None:
    return compared.octaves if compared.meant else None


def _difference(one: NoteDifference) -> Json:
    return {
        "kind": one.kind,
        "meant": _text(one.meant),
        "meant_midi": one.meant_midi,
        "played": _text(one.played),
        "played_midi": one.played_midi,
    }


def _landing(landing: Landing, target: Target) -> Json:
    one = landing.resolution
    return {
        "from": target.chords[landing.chord].name(),
        "degree": str(one.degree),
        "midi": one.midi,
        "outcome": one.outcome,
        "to": _text(one.to),
        "to_midi": one.to_midi,
        "meant": _text(landing.meant),
    }


def _with_names(fault: Fault, one: PassReview, target: Target) -> Json:
    note, came = notes_of(target, one, fault)
    return {**fault_data(fault, target), "note": note, "came_note": came}


def fault_data(fault: Fault, target: Target) -> Json:
    """A fault as data."""
    return {
        "kind": fault.kind,
        "chord": target.chords[fault.chord].name(),
        "at_s": fault.at_s,
        "degree": fault.degree,
        "came": fault.came,
        "words": in_words(target, fault),
        "sure": fault.sure,
    }


def key_data(one: KeyReview) -> Json:
    """A key's sums as data."""
    return {
        "key": one.key_name,
        "verdict": one.verdict,
        "passes": one.passes,
        "clean": one.clean,
        "false_starts": one.false_starts,
        "landed": one.landed.landed,
        "due": one.landed.due,
        "best_bpm": one.best_bpm,
    }
