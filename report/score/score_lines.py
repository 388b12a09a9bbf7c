"""Who plays what and for how long: notes on staves and lines, with ends that can be read.

Rules (ours; common practice where nothing is said):

* A note stays on the staff of the hand that struck it. Notes without a reading (a root
  touched alone, a melody note) go to the left hand below middle C, else to the right.
* The last chord of a hand ends at the bar line that it outlasts by a beat or less.
* Notes struck together end together: at the middle one of their ends, to the nearest half
  beat (the edge of a triplet beat beside thirds), and each hand's at the latest where that
  hand strikes next. A note that a later voicing counts as held sounds on into it, and
  ends with the notes struck there.
* A touched note stands in the staff's own line if nothing sounds there, else in a second
  line; it does not end the chord that rings above it.
* A line over the comping stands on the right hand's staff in a voice of its own.
* A key struck again ends its earlier note.
* Without a grid and out of time, notes last for their slot, and longer only where a voicing
  holds them. Notes struck in time end where a passage out of time begins, with that exception.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise
from statistics import median_high
from typing import Literal

from stackline.report.score.score_model import LEFT, RIGHT
from stackline.report.score.score_time import ScoreTime
from stackline.shared.notes import Note
from stackline.shared.take import Take

MIDDLE_C = 60  # MIDI number
HALF = Fraction(1, 2)

Voice = Literal["main", "line", "touched"]
OVER = 0  # the strikes of a line, which stand on the right hand's staff in a voice of their own
Key = tuple[int, int]  # index of the attack that struck a note, its pitch


@dataclass(frozen=True, kw_only=True)
class Span:
    """One note on paper; attack, voicing: indices in the take of what struck it."""

    midi: int
    staff: int
    voice: Voice
    start: Fraction
    end: Fraction
    attack: int
    voicing: int | None


@dataclass(frozen=True, kw_only=True)
class _Strike:
    """What one hand strikes at one attack; voicing None where it has no reading."""

    attack: int
    voicing: int | None
    staff: int
    start: Fraction
    notes: tuple[Note, ...]

    @property
    def keys(self) -> list[Key]:
        return [(self.attack, note.midi) for note in self.notes]


def spans(take: Take, time: ScoreTime) -> tuple[Span, ...]:
    """Every struck note of the take as one span, by start, then pitch."""
    strikes = _strikes(take, time)
    ends = _Ends(time, strikes)
    found = ends.of_strikes()
    for key, end in ends.of_held(take).items():
        found[key] = max(found[key], end)
    starts = {key: strike.start for strike in strikes for key in strike.keys}
    found = _cut_at_restrikes(starts, found)
    rows = [
        Span(
            midi=key[1], staff=strike.staff or RIGHT, voice=voice, start=strike.start,
            end=found[key],
            attack=strike.attack, voicing=strike.voicing,
        )
        for strike, voice in zip(strikes, _voices(strikes, found), strict=True)
        for key in strike.keys
    ]  # fmt: skip
    return tuple(sorted(rows, key=lambda span: (span.start, span.midi)))


def _strikes(take: Take, time: ScoreTime) -> list[_Strike]:
    """One for each hand that strikes at an attack."""
    voiced = {voicing.attack: i for i, voicing in enumerate(take.voicings)}
    found = []
    for k, attack in enumerate(take.attacks):
        index = voiced.get(attack)
        hands = (
            {} if index is None
            else {tone.midi: RIGHT if tone.hand == "right" else LEFT
                  for tone in take.voicings[index].tones}
        )  # fmt: skip
        for staff in (RIGHT, LEFT):
            notes = tuple(note for note in attack.comped if _staff(note, hands) == staff)
            if notes:
                found.append(
                    _Strike(attack=k, voicing=index, staff=staff, start=time.starts[k], notes=notes)
                )
        if attack.line:
            found.append(
                _Strike(attack=k, voicing=None, staff=OVER, start=time.starts[k], notes=attack.line)
            )
    return found


def _staff(note: Note, hands: Mapping[int, int]) -> int:
    return hands.get(note.midi, LEFT if note.midi < MIDDLE_C else RIGHT)


class _Ends:
    """Where notes end on paper."""

    def __init__(self, time: ScoreTime, strikes: Sequence[_Strike]) -> None:
        self._time, self._strikes = time, strikes
        self._thirds = {int(s // 1) for s in time.starts if s.denominator % 3 == 0}
        offsets = [note.offset_s for strike in strikes for note in strike.notes]
        keys = [key for strike in strikes for key in strike.keys]
        self._raw = dict(zip(keys, time.at(offsets), strict=True))
        self._middle = {
            (strike.attack, strike.staff == OVER): median_high(
                self._raw[key] for other in strikes[max(i - 2, 0) : i + 3]
                if other.attack == strike.attack and (other.staff == OVER) == (strike.staff == OVER)
                for key in other.keys
            )
            for i, strike in enumerate(strikes)
        }  # fmt: skip
        self._starts = {
            (staff, voiced): [
                strike.start for strike in strikes
                if strike.staff == staff and (strike.voicing is not None or not voiced)
            ]
            for staff in (RIGHT, LEFT, OVER) for voiced in (True, False)
        }  # fmt: skip
        self._together = {
            (strike.attack, strike.staff): self._of_strike(strike) for strike in strikes
        }

    def of_strikes(self) -> dict[Key, Fraction]:
        """The ends of notes that no later voicing holds."""
        return {
            key: self._together[strike.attack, strike.staff]
            for strike in self._strikes for key in strike.keys
        }  # fmt: skip

    def _of_strike(self, strike: _Strike) -> Fraction:
        raw = self._middle[strike.attack, strike.staff == OVER]
        return self._end(raw, strike.start, strike.staff, strike.voicing is not None)

    def _end(self, raw: float, start: Fraction, staff: int, voiced: bool) -> Fraction:
        """A readable end after `start`, no later than the hand's next strike."""
        if self._time.is_slot(start):
            return start + 1
        end = max(self._rounded(raw), self._first_after(start))
        limits = self._next(start, staff, voiced), self._time.border_after(start)
        limit = min((one for one in limits if one is not None), default=None)
        if limit is not None and (end > limit or abs(limit - raw) <= abs(end - raw)):
            return limit
        return end if limit is not None else self._last(start, end)

    def _last(self, start: Fraction, end: Fraction) -> Fraction:
        """The end of a hand's last chord: at a bar line that it outlasts by a beat at most."""
        bars = self._time.bars_until(end)
        line = max((one.start for one in bars if start < one.start < end), default=end)
        return Fraction(line) if end - line <= 1 else end

    def _next(self, start: Fraction, staff: int, voiced: bool) -> Fraction | None:
        """The hand's next strike; a touch does not end a chord, but a chord ends a touch."""
        rows = self._starts[staff, voiced]
        at = bisect_right(rows, start)
        return rows[at] if at < len(rows) else None

    def _rounded(self, raw: float) -> Fraction:
        place = Fraction(round(raw * 2), 2)
        if place.denominator == 2 and int(place // 1) in self._thirds:
            return Fraction(round(raw))
        return place

    def _first_after(self, start: Fraction) -> Fraction:
        beat = start // 1
        half = beat + HALF
        return half if start < half and int(beat) not in self._thirds else Fraction(beat + 1)

    def of_held(self, take: Take) -> dict[Key, Fraction]:
        """The ends of notes that a later voicing holds, under its last holder."""
        key_of = {
            (note.onset_s, note.midi): key
            for strike in self._strikes
            for note, key in zip(strike.notes, strike.keys, strict=True)
        }
        staff_of = {key: strike.staff for strike in self._strikes for key in strike.keys}
        attack_of = {strike.voicing: strike.attack for strike in self._strikes}
        found: dict[Key, Fraction] = {}
        for i, voicing in enumerate(take.voicings):
            held = {tone.midi for tone in voicing.tones if tone.held}
            for note in voicing.attack.held:
                key = key_of.get((note.onset_s, note.midi))
                if note.midi in held and key is not None and i in attack_of:
                    found[key] = self._held_until(key, staff_of[key], attack_of[i])
        return found

    def _held_until(self, key: Key, staff: int, attack: int) -> Fraction:
        struck_there = self._together.get((attack, staff))
        if struck_there is not None:
            return struck_there
        return self._end(self._raw[key], self._time.starts[attack], staff, True)


def _cut_at_restrikes(
    starts: Mapping[Key, Fraction], ends: Mapping[Key, Fraction]
) -> dict[Key, Fraction]:
    """Ends, none later than the next strike of the same key."""
    by_pitch: dict[int, list[Key]] = {}
    for key in sorted(starts, key=lambda one: starts[one]):
        by_pitch.setdefault(key[1], []).append(key)
    cut = dict(ends)
    for row in by_pitch.values():
        for key, following in pairwise(row):
            cut[key] = min(cut[key], starts[following])
    return cut


def _voices(strikes: Sequence[_Strike], ends: Mapping[Key, Fraction]) -> list[Voice]:
    """A touched note that would overlap its staff's chords goes to a line of its own."""
    taken = {
        staff: _Taken(
            (strike.start, ends[key])
            for strike in strikes
            if strike.voicing is not None and strike.staff == staff
            for key in strike.keys
        )
        for staff in (RIGHT, LEFT)
    }
    voices: list[Voice] = []
    for strike in strikes:
        if strike.staff == OVER:
            voices.append("line")
            continue
        stop = max(ends[key] for key in strike.keys)
        clash = strike.voicing is None and taken[strike.staff].overlaps(strike.start, stop)
        voices.append("touched" if clash else "main")
    return voices


class _Taken:
    """Stretches that are taken; asked one by one whether another overlaps any of them."""

    def __init__(self, stretches: Iterable[tuple[Fraction, Fraction]]) -> None:
        ordered = sorted(stretches)
        self._starts = [start for start, _ in ordered]
        self._latest = list(accumulate((end for _, end in ordered), max))  # end so far

    def overlaps(self, start: Fraction, end: Fraction) -> bool:
        """Whether one begins before `end` and ends after `start`."""
        before = bisect_left(self._starts, end)
        return before > 0 and self._latest[before - 1] > start
