"""Harmonic rhythm: how long chords last, and where in the bar they come.

A chord lasts from its first voicing to the first voicing of another chord; re-strikes and
other voicings of it belong to it (`stackline.theory.chords.same_chord`). Which place it belongs to:

* Out of time a chord has no place, and none lasts a number of beats into or out of it.
* With changes given, the beat on which they write it.
* Else a chord on a beat belongs there. Chords change on strong beats (the first beat, and in
  4/4 the third; common practice), so one on the second half of a beat before a strong beat is
  anticipated and belongs to the strong beat, unless another chord already comes there; one
  that follows a strong beat by less than a beat is delayed; any other is off the beat.

Late off-beats of a take that swings count as halves (`stackline.shared.swing`).
"""

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor

import numpy as np

from stackline.shared.harmony import Voicing
from stackline.shared.notes import BeatGrid, Position
from stackline.shared.rhythm import NO_RHYTHM, BarRhythm, ChordPlace, HarmonicRhythm, Placing
from stackline.shared.swing import LATE, STRAIGHT, is_swung
from stackline.theory.chords.same_chord import same_chord

HALF = Fraction(1, 2)
NEAR_BEATS = Fraction(1, 4)  # what is nearer to its written place than this is on it
FARTHEST_BEATS = Fraction(3, 2)  # further off, it is another voicing of the time in between


def harmonic_rhythm(voicings: Sequence[Voicing], grid: BeatGrid, *, end_s: float) -> HarmonicRhythm:
    """The chords of a take in time, and its bars. end_s: of the recording."""
    if not voicings:
        return NO_RHYTHM
    starts = [i for i, one in enumerate(voicings) if not i or not same_chord(voicings[i - 1], one)]
    ends = [*starts[1:], len(voicings)]
    meter = _Meter(voicings, grid)
    struck = [meter.struck(voicings[i]) for i in starts]
    homes = [meter.home(voicings[i], at, struck[k + 1] if k + 1 < len(struck) else None)
             for k, (i, at) in enumerate(zip(starts, struck, strict=True))]  # fmt: skip
    chords = []
    for k, (first, after) in enumerate(zip(starts, ends, strict=True)):
        place, placing = homes[k]
        following = homes[k + 1][0] if k + 1 < len(homes) else None
        onset_s = voicings[first].attack.onset_s
        until_s = voicings[after].attack.onset_s if after < len(voicings) else end_s
        chords.append(
            ChordPlace(
                voicing=first,
                voicings=after - first,
                start_s=onset_s,
                end_s=max(until_s, onset_s),
                position=meter.position(place),
                placing=placing,
                beats=None if place is None or following is None or following < place
                or grid.is_left_between(onset_s, until_s) else following - place,
            )
        )  # fmt: skip
    return HarmonicRhythm(chords=tuple(chords), bars=tuple(_bars(chords, voicings, meter)))


class _Meter:
    """Places as beats counted through the take: bar 1, beat 1 is 0."""

    def __init__(self, voicings: Sequence[Voicing], grid: BeatGrid) -> None:
        self.per_bar = grid.beats_per_bar
        self._grid = grid
        self._times = np.array([beat.time_s for beat in grid.beats])
        self._bars = grid.bars()
        self.unmeasured = grid.unmeasured_bars()
        self._swung = is_swung([voicing.attack for voicing in voicings])
        strong = 2 if self.per_bar == 4 else self.per_bar
        self._strong = frozenset(range(0, self.per_bar, strong))

    def struck(self, voicing: Voicing) -> Fraction | None:
        """Where a voicing is struck; a swung off-beat is the half."""
        position = voicing.attack.position
        if position is None:
            return None
        return self.count(position)

    def count(self, position: Position) -> Fraction:
        """A position as beats from bar 1, beat 1."""
        part = position.beat % 1
        part = STRAIGHT if self._swung and part == LATE else part
        return Fraction((position.bar - 1) * self.per_bar + floor(position.beat) - 1) + part

    def position(self, place: Fraction | None) -> Position | None:
        """The other way round."""
        if place is None:
            return None
        bar, beat = divmod(place, self.per_bar)
        return Position(bar=int(bar) + 1, beat=beat + 1)

    def home(
        self, voicing: Voicing, at: Fraction | None, following: Fraction | None
    ) -> tuple[Fraction | None, Placing | None]:
        """The place that a chord struck at `at` belongs to, and how it came there."""
        if at is None:
            return None, None
        if voicing.chord.source == "changes":
            written = self._written(voicing.chord.start_s)
            if written is not None and abs(at - written) <= FARTHEST_BEATS:
                off = at - written
                if abs(off) < NEAR_BEATS:
                    return written, "on the beat"
                return written, "anticipated" if off < 0 else "delayed"
        if self._grid.source == "assumed":
            return at, None
        part, beat = at % 1, floor(at)
        if not part:
            return at, "on the beat"
        ahead = Fraction(ceil(at))
        is_free = following is None or following > ahead
        if part >= HALF and ahead % self.per_bar in self._strong and is_free:
            return ahead, "anticipated"
        if beat % self.per_bar in self._strong:
            return Fraction(beat), "delayed"
        return at, "off the beat"

    def _written(self, time_s: float) -> Fraction | None:
        """The beat nearest to a time, if one is."""
        if len(self._times) < 2:
            return None
        index = int(np.argmin(np.abs(self._times - time_s)))
        beat_s = float(self._times[-1] - self._times[0]) / (len(self._times) - 1)
        if abs(float(self._times[index]) - time_s) > beat_s / 2:
            return None
        number = self._grid.beats[index].number
        return Fraction((self._bars[index] - 1) * self.per_bar + number - 1)


def _bars(
    chords: Sequence[ChordPlace], voicings: Sequence[Voicing], meter: _Meter
) -> list[BarRhythm]:
    """Every bar from the first chord's to the last voicing's, but for those out of time."""
    placed = [chord.position for chord in chords if chord.position is not None]
    struck = [at for at in map(meter.struck, voicings) if at is not None]
    if not placed or not struck:
        return []
    first = min(placed[0].bar, floor(struck[0] / meter.per_bar) + 1)
    last = max(placed[-1].bar, floor(struck[-1] / meter.per_bar) + 1)
    rows = []
    for bar in range(first, last + 1):
        if bar in meter.unmeasured:
            continue
        new = [one for one in placed if one.bar == bar]
        begins = any(one.beat == 1 for one in new)
        lasts = any(one.bar < bar for one in placed) and not begins
        own = [at - (bar - 1) * meter.per_bar for at in struck
               if 0 <= at - (bar - 1) * meter.per_bar < meter.per_bar]  # fmt: skip
        rows.append(BarRhythm(bar=bar, chords=len(new) + lasts, figure=figure(own, meter.per_bar)))
    return rows


_VALUES = {  # beats, in 4/4 and 3/4 notation (common practice)
    Fraction(4): "whole", Fraction(3): "dotted half", Fraction(2): "half",
    Fraction(3, 2): "dotted quarter", Fraction(1): "quarter", Fraction(3, 4): "dotted eighth",
    Fraction(2, 3): "triplet quarter", Fraction(1, 2): "eighth", Fraction(1, 3): "triplet eighth",
    Fraction(1, 4): "sixteenth",
}  # fmt: skip


def figure(places: Sequence[Fraction], per_bar: int) -> str:
    """A bar's strikes as note values, each lasting to the next: ``quarter and dotted half``.

    places: in beats from 0, rising. A value that does not fit one note is called by its first
    note, "tied over"; a single value is a "whole note". A bar that is not struck on its first
    beat begins with ``from beat 2&:``.
    """
    starts = sorted(set(places))
    if not starts:
        return ""
    ends = [*starts[1:], Fraction(per_bar)]
    words = [_value(a, b - a) for a, b in zip(starts, ends, strict=True)]
    if len(words) == 1 and words[0] in _VALUES.values():
        words = [f"{words[0]} note"]
    told = " and ".join([", ".join(words[:-1])] * (len(words) > 1) + words[-1:])
    return told if not starts[0] else f"from beat {_counted(starts[0])}: {told}"


def _value(start: Fraction, length: Fraction) -> str:
    """One value; from off the beat the first note reaches to the next beat."""
    room = ceil(start) - start if start % 1 else length
    if start % 1 and length > room:
        return f"{_VALUES.get(room, 'note')} tied over"
    if length in _VALUES:
        return _VALUES[length]
    fitting = [value for value in _VALUES if value < length]
    return f"{_VALUES[max(fitting)]} tied over" if fitting else "grace note"


def _counted(start: Fraction) -> str:
    """A place in the bar as it is counted: ``2``, ``2&``, ``2+1/3``."""
    beat, part = floor(start) + 1, start % 1
    return f"{beat}{'&' if part == HALF else f'+{part}' if part else ''}"
