"""A take as a Standard MIDI File (type 1): what was struck, on the beats that were heard.

Track 0 holds tempo, meter and one marker a voicing (its symbol) with its degree stack as
text; the right and the left hand follow as a track each, and a line over the comping, where there
is one, as a third. Time in the file is time in the
recording, so both can be laid over each other. With a beat grid every beat is a quarter
note: the tempo map follows the beats, and the time before the first beat, like a passage out
of time, is written as whole beats so that bar lines fall on downbeats. Without a grid the file
runs at 120 beats a minute and only the seconds mean something. Note times are exact to half a
tick (1/960 of a beat). A pitch struck again while it sounds ends where it is struck again.

Source of the format: the Standard MIDI File specification, through mido.
"""

import io
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable
from itertools import pairwise

import mido

from stackline.report.words.marks import one_line, stack_text
from stackline.report.words.take_view import TakeView
from stackline.shared.notes import BeatGrid, Note
from stackline.shared.take import Take

TICKS_PER_BEAT = 960  # divides by 3, 5 and 64
PLAIN_BEAT_S = 0.5  # without a grid: 120 beats a minute
MIDDLE_C = 60  # a note that no voicing gives to a hand goes left below it
HANDS = ("right", "left")
LINE = "line"

Event = tuple[int, int, mido.Message]  # tick, order within the tick, message


def render(view: TakeView) -> bytes:
    """The bytes of the MIDI file."""
    take, timeline = view.take, Timeline(view.take.grid)
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_BEAT, charset="utf-8")
    file.tracks.append(_track(one_line(take.source.name), _conductor(take, timeline)))
    by_hand = _by_hand(take)
    for channel, hand in enumerate(HANDS):
        events = _note_events(by_hand[hand], timeline, channel)
        file.tracks.append(_track(f"{hand} hand", events))
    if by_hand[LINE]:
        events = _note_events(by_hand[LINE], timeline, len(HANDS))
        file.tracks.append(_track(LINE, events))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


class Timeline:
    """Seconds to ticks along the beats of a grid.

    tempos: (tick, microseconds a beat) wherever the length of a beat changes.
    """

    def __init__(self, grid: BeatGrid) -> None:
        self._times_s = _beat_times(grid)
        lengths = [max(b - a, 1e-6) for a, b in pairwise(self._times_s)]
        micros = [min(max(round(1e6 * length), 1), 2**24 - 1) for length in lengths]
        self.tempos = [(0, micros[0])]
        for i, value in enumerate(micros):
            if value != self.tempos[-1][1]:
                self.tempos.append((i * TICKS_PER_BEAT, value))
        self._starts_s = _tempo_starts(self.tempos)

    def tick(self, time_s: float) -> int:
        """The nearest tick to a time in the recording, as a player of the file will keep it."""
        index = max(bisect_right(self._starts_s, time_s) - 1, 0)
        tick, micros = self.tempos[index]
        since_s = max(time_s - self._starts_s[index], 0.0)
        return tick + round(since_s * 1e6 / micros * TICKS_PER_BEAT)


def _beat_times(grid: BeatGrid) -> list[float]:
    """Times of the quarter notes from 0 on; some stand before the grid's first beat."""
    if len(grid.beats) < 2:
        length = 60.0 / grid.tempo_bpm if grid.tempo_bpm else PLAIN_BEAT_S
        return [0.0, length]
    first = grid.beats[0]
    counted = grid.counted_through()
    period = (counted[-1].time_s - first.time_s) / (len(counted) - 1)
    missing = (first.number - 1) % grid.beats_per_bar
    if first.time_s <= 0:
        lead = 0
    else:
        bars = max(round((first.time_s / period - missing) / grid.beats_per_bar), 0)
        lead = missing + bars * grid.beats_per_bar or grid.beats_per_bar
    times = [first.time_s * i / lead for i in range(lead)]
    return times + [beat.time_s for beat in counted]


def _tempo_starts(tempos: list[tuple[int, int]]) -> list[float]:
    """When each tempo begins, in seconds, in the file's own arithmetic."""
    starts = [0.0]
    for (tick, micros), (next_tick, _) in pairwise(tempos):
        starts.append(starts[-1] + (next_tick - tick) / TICKS_PER_BEAT * micros / 1e6)
    return starts


def _conductor(take: Take, timeline: Timeline) -> list[Event]:
    events: list[Event] = [
        (0, 0, mido.MetaMessage("time_signature", numerator=take.grid.beats_per_bar, denominator=4))
    ]
    events += [
        (tick, 1, mido.MetaMessage("set_tempo", tempo=micros)) for tick, micros in timeline.tempos
    ]
    for voicing in take.voicings:
        tick = timeline.tick(voicing.attack.onset_s)
        symbol = one_line(voicing.chord.symbol.text)
        events.append((tick, 2, mido.MetaMessage("marker", text=symbol)))
        events.append((tick, 3, mido.MetaMessage("text", text=stack_text(voicing))))
    return events


def _by_hand(take: Take) -> dict[str, list[Note]]:
    """Every note of the take, once, under the hand that struck it."""
    given = {
        (note.onset_s, note.midi): tone.hand
        for voicing in take.voicings
        for note in voicing.attack.struck
        for tone in voicing.tones
        if tone.midi == note.midi
    }
    hands: dict[str, list[Note]] = defaultdict(list)
    for note in take.notes:
        if note.is_of_line:
            hands[LINE].append(note)
            continue
        guess = "left" if note.midi < MIDDLE_C else "right"
        hands[given.get((note.onset_s, note.midi), guess)].append(note)
    return hands


def _note_events(notes: Iterable[Note], timeline: Timeline, channel: int) -> list[Event]:
    """Note-on and note-off messages; offs before ons within a tick."""
    by_pitch: dict[int, list[Note]] = defaultdict(list)
    for note in notes:
        by_pitch[note.midi].append(note)
    events: list[Event] = []
    for midi, row in by_pitch.items():
        starts = [timeline.tick(note.onset_s) for note in row]
        limits = [*starts[1:], None]
        for note, start, limit in zip(row, starts, limits, strict=True):
            end = max(timeline.tick(note.offset_s), start + 1)
            end = end if limit is None else max(min(end, limit), start)
            on = mido.Message("note_on", note=midi, velocity=note.velocity, channel=channel)
            off = mido.Message("note_off", note=midi, velocity=64, channel=channel)
            if end > start:
                events += [(start, 1, on), (end, 0, off)]
    return events


def _track(name: str, events: list[Event]) -> mido.MidiTrack:
    """A track from events at absolute ticks."""
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name, time=0)])
    now = 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=0))
    return track
