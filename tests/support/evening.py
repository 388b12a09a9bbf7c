"""An evening in small: scales, a target through keys, comping; as notes and as a MIDI file."""

import io

import mido

from fixtures.played.practised import make_practised
from fixtures.played.sessions import scales
from fixtures.played.takes import LISTED, make_take
from fixtures.played.truth import TrueTake
from stackline.shared.notes import Note

TICKS = 480  # a quarter, at 120 a minute
TARGET_SEED = 41_504
TARGET = make_practised(TARGET_SEED, keys=4).target


def heard(take: TrueTake, *, from_s: float = 0.0) -> tuple[Note, ...]:
    """A made take as notes that are sure, later by some seconds."""
    return tuple(
        Note(
            onset_s=round(one.onset_s + from_s, 4), offset_s=round(one.offset_s + from_s, 4),
            midi=one.midi, velocity=one.velocity, confidence=1.0,
        )
        for one in take.notes
    )  # fmt: skip


def in_a_row(*takes: TrueTake, rest_s: float) -> tuple[Note, ...]:
    """Takes one after the other, a rest between."""
    notes: list[Note] = []
    for take in takes:
        begin = min(one.onset_s for one in take.notes)
        after = max((one.offset_s for one in notes), default=-rest_s + 1.0) + rest_s
        notes += heard(take, from_s=after - begin)
    return tuple(notes)


def evening(*, rest_s: float = 12.0) -> tuple[Note, ...]:
    """Scales, then a built-in target in four keys, then comping."""
    parts = scales(41_900), make_practised(TARGET_SEED, keys=4).take, make_take(41_901, LISTED)
    return in_a_row(*parts, rest_s=rest_s)


def midi_file(notes: tuple[Note, ...]) -> bytes:
    """Notes as a file of one track that a digital piano would record: no beats of its own."""
    events = [(one.onset_s, 1, one.midi, one.velocity) for one in notes]
    events += [(one.offset_s, 0, one.midi, 0) for one in notes]
    track, at = mido.MidiTrack(), 0
    for time_s, on, midi, velocity in sorted(events):
        tick = round(time_s * 2 * TICKS)
        kind = "note_on" if on else "note_off"
        track.append(mido.Message(kind, note=midi, velocity=velocity, time=tick - at))
        at = tick
    file = mido.MidiFile(ticks_per_beat=TICKS, type=0)
    file.tracks.append(track)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()
