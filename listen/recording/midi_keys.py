"""A Standard MIDI File as what was played: notes that are sure, and beats where it has some.

Formats 0 and 1 are read, running status and any number of tracks; drums (channel 10) and keys
beyond the piano's are left out. A key let go under the sustain pedal (controller 64 from 64 up)
sounds until the pedal comes up or the key is struck again. A track called "line" that stands
beside "right hand" and "left hand", as our own files have it, is a line over the comping.

Beats: from tempo map and meter. A digital piano that records without a click writes one tempo
which its player never heard; so a single tempo counts only where at least `ON_BEATS` of what is
struck begins within `NEAR` of a beat, more than chance would have it. Quarters are beats, in 6/8
and the like dotted quarters, in meters of other eighths the eighths.

Source of the format: the Standard MIDI Files specification 1.0 (RP-001), through mido.
"""

import hashlib
import io
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from statistics import median

import mido

from stackline.shared.complaint import Complaint
from stackline.shared.notes import Beat, BeatGrid, Note, in_order
from stackline.shared.take import Source
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI

MARKS = (b"MThd", b"RIFF")  # a file by itself, or wrapped (RMID)
LARGEST = 32 * 2**20  # bytes; hours of playing are a tenth of it
LONGEST_S = 12 * 3600.0
DRUMS = 9  # channel 10, counted from 0
PEDAL, DOWN = 64, 64  # the controller's number, and its value from which it is down (MIDI 1.0)
USUAL_TEMPO = 500_000  # microseconds a quarter, where nothing is written (RP-001)
FASTEST_TEMPO = 20_000  # microseconds a quarter: 3000 a minute (ours)
SHORTEST_BEAT_S, LONGEST_BEAT_S, MOST_BEATS = 0.15, 3.0, 100_000  # of beats: 20 to 400 a minute
ON_BEATS, NEAR = 0.3, 0.06  # NEAR of a beat on either side: chance alone gives 0.12
LINE, HANDS = "line", {"right hand", "left hand"}


@dataclass(frozen=True, kw_only=True)
class Keys:
    """What a MIDI file holds. grid: None where its tempo says nothing of what was played."""

    source: Source
    notes: tuple[Note, ...]
    grid: BeatGrid | None


def is_midi(path: Path) -> bool:
    """Whether a file begins as a MIDI file does, whatever it is called."""
    try:
        with path.open("rb") as file:
            start = file.read(12)
    except OSError:
        return False
    return start.startswith(MARKS[0]) or (start.startswith(MARKS[1]) and start[8:] == b"RMID")


def read_midi(path: Path) -> Keys:
    """The notes and beats of a MIDI file; raises Complaint for one that cannot be read."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise Complaint(f"{path}: cannot be read ({error.strerror}); name a MIDI file") from error
    if len(data) > LARGEST:
        raise Complaint(f"{path}: {len(data) // 2**20} MB are no MIDI file of one piano; up to 32")
    file = _opened(path, data)
    clock = _Clock(file)
    notes = _notes(file, clock)
    end_s = max((clock.seconds(tick) for tick in (_length(track) for track in file.tracks)),
                default=0.0)  # fmt: skip
    if end_s > LONGEST_S:
        raise Complaint(f"{path}: lasts {end_s / 3600:.0f} hours; give a take of up to 12")
    if not notes:
        raise Complaint(
            f"{path}: no note of a piano is in this MIDI file; give one that was played"
        )
    end_s = max(end_s, notes[-1].onset_s, max(note.offset_s for note in notes))
    source = Source(
        name=path.name, duration_s=round(end_s, 4), sha256=hashlib.sha256(data).hexdigest()
    )
    return Keys(source=source, notes=notes, grid=_grid(file, clock, notes))


def _opened(path: Path, data: bytes) -> mido.MidiFile:
    start = data.find(MARKS[0])
    try:
        file = mido.MidiFile(file=io.BytesIO(data[max(start, 0) :]), clip=True)
        kind, tracks = file.type, len(file.tracks)
    except Exception as error:  # mido raises what it meets: EOFError, IndexError, KeyError ...
        raise Complaint(
            f"{path}: is no whole MIDI file, or is damaged; save or export it once more "
            "as a Standard MIDI File, format 0 or 1"
        ) from error
    if kind == 2:
        raise Complaint(
            f"{path}: is a MIDI file of format 2, patterns without a common time; "
            "export it as format 0 or 1"
        )
    if not tracks or not file.ticks_per_beat:
        raise Complaint(
            f"{path}: has no track or no time base; export it once more as format 0 or 1"
        )
    return file


class _Clock:
    """Ticks to seconds along the tempo map, whichever track it stands in."""

    def __init__(self, file: mido.MidiFile) -> None:
        self.per_quarter = abs(file.ticks_per_beat)
        self.tempos: list[tuple[int, int]] = [(0, USUAL_TEMPO)]
        changes = [(tick, one.tempo) for tick, one in _events(file) if one.type == "set_tempo"]
        self.second_ticks: float | None = None
        if file.ticks_per_beat < 0:  # frames a second, and ticks a frame (SMPTE)
            raw = file.ticks_per_beat & 0xFFFF
            frames, parts = 256 - (raw >> 8), raw & 0xFF
            self.second_ticks = (29.97 if frames == 29 else float(frames)) * max(parts, 1)
            return
        for tick, tempo in sorted(changes, key=lambda one: one[0]):
            if self.tempos[-1][0] == tick:
                self.tempos.pop()
            self.tempos.append((tick, max(tempo, FASTEST_TEMPO)))
        self._starts = [0.0]
        for (tick, tempo), (following, _) in pairwise(self.tempos):
            self._starts.append(self._starts[-1] + self._span(following - tick, tempo))

    def _span(self, ticks: float, tempo: int) -> float:
        return ticks * tempo / 1e6 / self.per_quarter

    def seconds(self, tick: float) -> float:
        """When a tick is, from the start of the file."""
        if self.second_ticks is not None:
            return tick / self.second_ticks
        at = max(i for i, (start, _) in enumerate(self.tempos) if start <= tick)
        start, tempo = self.tempos[at]
        return self._starts[at] + self._span(tick - start, tempo)


def _events(file: mido.MidiFile) -> Iterator[tuple[int, mido.Message]]:
    """Every message of every track with its tick."""
    for track in file.tracks:
        tick = 0
        for message in track:
            tick += message.time
            yield tick, message


def _length(track: mido.MidiTrack) -> int:
    """The tick of the last message that sounds; an end far behind it is a sequencer's frame."""
    tick = last = 0
    for message in track:
        tick += message.time
        if not message.is_meta:
            last = tick
    return last


@dataclass(frozen=True, kw_only=True)
class _Struck:
    """A key from its strike to its release, in ticks; up None where it is never let go."""

    down: int
    up: int | None
    midi: int
    velocity: int
    of_line: bool


def _notes(file: mido.MidiFile, clock: _Clock) -> tuple[Note, ...]:
    """Every key of the piano, with what the pedal does, by onset, then pitch."""
    ours = {track.name for track in file.tracks} >= HANDS
    struck = [one for track in file.tracks
              for one in _keys(track, of_line=ours and track.name == LINE)]  # fmt: skip
    end = max((_length(track) for track in file.tracks), default=0)
    pedal = _pedal(file, end)
    by_key: dict[int, list[_Struck]] = defaultdict(list)
    for one in sorted(struck, key=lambda one: (one.down, -one.velocity)):
        row = by_key[one.midi]
        if not row or row[-1].down != one.down:  # doubled on another track: one key
            row.append(one)
    notes = []
    for midi, row in by_key.items():
        for one, following in zip(row, [*row[1:], None], strict=True):
            up = one.up if one.up is not None else end
            up = next((stop for start, stop in pedal if start <= up < stop), up)
            if following is not None:
                up = min(up, following.down)
            onset_s = clock.seconds(one.down)
            notes.append(
                Note(
                    onset_s=round(onset_s, 5),
                    offset_s=round(max(clock.seconds(max(up, one.down)), onset_s), 5),
                    midi=midi, velocity=one.velocity, confidence=1.0, line=float(one.of_line),
                )
            )  # fmt: skip
    return in_order(notes)


def _keys(track: mido.MidiTrack, *, of_line: bool) -> Iterator[_Struck]:
    """The keys of one track; a note struck again before it is let go ends there."""
    tick = 0
    down: dict[tuple[int, int], tuple[int, int]] = {}
    for message in track:
        tick += message.time
        if message.type not in ("note_on", "note_off") or message.channel == DRUMS:
            continue
        if not LOWEST_MIDI <= message.note <= HIGHEST_MIDI:
            continue
        key = (message.channel, message.note)
        begun = down.pop(key, None)
        if begun is not None:
            yield _Struck(down=begun[0], up=tick, midi=key[1], velocity=begun[1], of_line=of_line)
        if message.type == "note_on" and message.velocity > 0:
            down[key] = (tick, message.velocity)
    for (_, midi), (start, velocity) in down.items():
        yield _Struck(down=start, up=None, midi=midi, velocity=velocity, of_line=of_line)


def _pedal(file: mido.MidiFile, end: int) -> list[tuple[int, int]]:
    """Where the sustain pedal is down on any channel, in ticks, in order."""
    moves = sorted(
        (tick, message.channel, message.value >= DOWN)
        for tick, message in _events(file)
        if message.type == "control_change" and message.control == PEDAL
        and message.channel != DRUMS
    )  # fmt: skip
    down: set[int] = set()
    spans: list[tuple[int, int]] = []
    since: int | None = None
    for tick, channel, is_down in moves:
        (down.add if is_down else down.discard)(channel)
        if down and since is None:
            since = tick
        elif not down and since is not None:
            spans.append((since, tick))
            since = None
    return spans + ([(since, end)] if since is not None and since < end else [])


def _grid(file: mido.MidiFile, clock: _Clock, notes: Sequence[Note]) -> BeatGrid | None:
    """The beats of the tempo map, from the start of the file to the last note."""
    if clock.second_ticks is not None:
        return None
    ticks = _beat_ticks(file, clock, notes[-1].onset_s)
    beats = tuple(Beat(time_s=round(clock.seconds(tick), 5), number=n) for tick, n, _ in ticks)
    if len(beats) < 2 or not (len(clock.tempos) > 1 or _fit(beats, notes)):
        return None
    per_bar = Counter(count for _, _, count in ticks).most_common(1)[0][0]
    length_s = median(b.time_s - a.time_s for a, b in pairwise(beats))
    if not SHORTEST_BEAT_S <= length_s <= LONGEST_BEAT_S or len(beats) > MOST_BEATS:
        return None
    return BeatGrid(
        beats=beats, tempo_bpm=round(60.0 / length_s, 2), beats_per_bar=per_bar, source="hint",
        confidence=1.0,
    )  # fmt: skip


def _beat_ticks(file: mido.MidiFile, clock: _Clock, last_s: float) -> list[tuple[float, int, int]]:
    """Tick, number in the bar and beats in the bar of each beat, until past the last note."""
    meters = {
        tick: (one.numerator, one.denominator)
        for tick, one in sorted(_events(file), key=lambda one: one[0])
        if one.type == "time_signature"
    }
    changes = sorted(meters)
    count, length = _beats_of(*meters.get(0, (4, 4)))
    found: list[tuple[float, int, int]] = []
    tick, number = Fraction(0), 1
    while not found or (clock.seconds(found[-1][0]) <= last_s and len(found) <= MOST_BEATS):
        found.append((float(tick), number, count))
        tick, number = tick + length * clock.per_quarter, number % count + 1
        changed = [one for one in changes if found[-1][0] < one <= tick]
        if changed:
            tick, number = Fraction(changed[0]), 1
            count, length = _beats_of(*meters[changed[0]])
    return found


def _beats_of(above: int, below: int) -> tuple[int, Fraction]:
    """How many beats a bar has, and how long one is in quarters."""
    if below >= 8 and above % 3 == 0 and above > 3:
        return above // 3, Fraction(12, below)
    return max(above, 1), Fraction(4, below)


def _fit(beats: Sequence[Beat], notes: Sequence[Note]) -> bool:
    """Whether what is struck keeps to beats of one tempo."""
    start_s, length_s = beats[0].time_s, beats[1].time_s - beats[0].time_s
    onsets = {round(note.onset_s, 2) for note in notes}
    parts = [((onset - start_s) / length_s) % 1.0 for onset in onsets]
    return sum(min(part, 1 - part) <= NEAR for part in parts) >= ON_BEATS * len(parts)
