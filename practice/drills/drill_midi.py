"""A drill as a standard MIDI file: piano, perhaps a bass, metronome, chord symbols as markers.

Type 1, 480 ticks a quarter. The metronome is General MIDI percussion (channel 10): high wood
block (76) on the first beat of a bar, low wood block (77) on the others; General MIDI
level 1 percussion key map. The count-in is metronome alone.
"""

import io
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

import mido

from stackline.practice.drills.drill import Drill
from stackline.practice.drills.drill_bass import BassNote, bass_notes
from stackline.practice.targets.numerals import key_name

TICKS = 480  # a quarter
# General MIDI's drums are on the tenth, 9 from 0.
PIANO_CHANNEL, BASS_CHANNEL, CLICK_CHANNEL = 0, 1, 9
ACOUSTIC_BASS = 32  # General MIDI's program 33
HIGH_BLOCK, LOW_BLOCK = 76, 77  # General MIDI's wood blocks
VELOCITY, TOP_VELOCITY = 68, 76  # MIDI velocities: the top line a little louder (ours)
BASS_VELOCITY = 52  # soft: it is there to be leant on, not listened to
HIGH_CLICK, LOW_CLICK = 90, 62  # MIDI velocities (ours)
HELD = Fraction(19, 20)  # of its length, so that a voicing struck again is heard again
CLICK_TICKS = 60  # an eighth of a beat

Timed = tuple[int, int, mido.Message | mido.MetaMessage]


def render(drill: Drill, *, click: bool = True, bass: str = "off") -> bytes:
    """The file's bytes. click: with the metronome. bass: a style of `drill_bass`."""
    return render_all([drill], click=click, bass=bass)


def render_all(drills: Sequence[Drill], *, click: bool = True, bass: str = "off") -> bytes:
    """Drills one after another in one file, each in its own tempo and meter; at least one."""
    starts = [sum(_tick(one, one.beats) for one in drills[:i]) for i in range(len(drills))]
    voices: list[tuple[str, Callable[[Drill], Iterable[Timed]]]] = [
        ("drill", _conductor),
        ("piano", _piano),
    ]
    if bass != "off":
        voices.append(("bass", lambda drill: _bass(drill, bass_notes(drill, bass))))
    if click:
        voices.append(("metronome", _clicks))
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS)
    for name, events in voices:
        timed = [
            (tick + start, rank, message)
            for start, drill in zip(starts, drills, strict=True)
            for tick, rank, message in events(drill)
        ]
        file.tracks.append(_track(name, timed, starts[-1] + _tick(drills[-1], drills[-1].beats)))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def _track(name: str, events: Iterable[Timed], last: int) -> mido.MidiTrack:
    """Events at absolute ticks as a track with distances; last: the tick of the last bar line."""
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    now = 0
    for tick, _, message in sorted(events, key=lambda one: one[:2]):
        track.append(message.copy(time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=max(0, last - now)))
    return track


def _tick(drill: Drill, beats: Fraction | int) -> int:
    """Ticks of a beat, which in 6/8 is a dotted quarter."""
    return round(beats * TICKS * drill.parts / 2)


def _conductor(drill: Drill) -> Iterable[Timed]:
    above, below = map(int, drill.meter.split("/"))
    quarters_bpm = drill.tempo_bpm * drill.parts / 2
    yield 0, 0, mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(quarters_bpm))
    yield (
        0, 0,
        mido.MetaMessage(
            "time_signature", numerator=above, denominator=below,
            clocks_per_click=12 * drill.parts,
        ),
    )  # fmt: skip
    for place, placed in enumerate(drill.keys):
        words = f"key of {key_name(placed.key, minor=drill.target.minor)}"
        yield _tick(drill, drill.key_start(place)), 0, mido.MetaMessage("marker", text=words)
    for one in drill.struck():
        symbol = one.chord.symbol(drill.keys[one.key].key).text
        yield _tick(drill, one.start), 1, mido.MetaMessage("text", text=symbol)


def _piano(drill: Drill) -> Iterable[Timed]:
    yield 0, 0, mido.Message("program_change", channel=PIANO_CHANNEL, program=0)
    for one in drill.struck():
        end = _tick(drill, one.start + one.beats * HELD)
        for pitch in one.pitches:
            velocity = TOP_VELOCITY if pitch == one.pitches[-1] else VELOCITY
            on = mido.Message("note_on", channel=PIANO_CHANNEL, note=pitch, velocity=velocity)
            yield _tick(drill, one.start), 2, on
            yield end, 1, mido.Message("note_off", channel=PIANO_CHANNEL, note=pitch)


def _bass(drill: Drill, notes: Iterable[BassNote]) -> Iterable[Timed]:
    yield 0, 0, mido.Message("program_change", channel=BASS_CHANNEL, program=ACOUSTIC_BASS)
    for one in notes:
        on = mido.Message("note_on", channel=BASS_CHANNEL, note=one.pitch, velocity=BASS_VELOCITY)
        yield _tick(drill, one.start), 2, on
        off = mido.Message("note_off", channel=BASS_CHANNEL, note=one.pitch)
        yield _tick(drill, one.start + one.beats * HELD), 1, off


def _clicks(drill: Drill) -> Iterable[Timed]:
    for beat in range(drill.beats):
        first = beat % drill.beats_per_bar == 0
        note, velocity = (HIGH_BLOCK, HIGH_CLICK) if first else (LOW_BLOCK, LOW_CLICK)
        tick = _tick(drill, beat)
        on = mido.Message("note_on", channel=CLICK_CHANNEL, note=note, velocity=velocity)
        yield tick, 2, on
        yield tick + CLICK_TICKS, 1, mido.Message("note_off", channel=CLICK_CHANNEL, note=note)
