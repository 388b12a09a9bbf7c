"""A drill: a target through the keys, placed on the keyboard and in time.

Beats are counted from the beginning of the count-in. Each key takes whole bars; with
`answer` the same number of bars follows in which only the metronome plays, for the player to
play it back.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from stackline.practice.drills.voicing_choice import voiced
from stackline.practice.targets.placing import USUAL, Placed, Register, place_keys
from stackline.practice.targets.target_text import BEATS_IN_BAR
from stackline.practice.targets.targets import Target, TargetChord
from stackline.shared.complaint import Complaint
from stackline.shared.units import FASTEST_BPM, SLOWEST_BPM, is_tempo

DEFAULT_BPM = 80.0


@dataclass(frozen=True, kw_only=True)
class Struck:
    """One voicing of a drill in time. key: its place in `Drill.keys`. pitches: MIDI."""

    key: int
    chord: TargetChord
    start: Fraction
    beats: Fraction
    pitches: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Drill:
    """A drill ready to be written. count_in: bars of metronome before the first key.

    parts: into how many eighths a beat falls, 2, or 3 where it is a dotted quarter (6/8).
    """

    target: Target
    keys: tuple[Placed, ...]
    tempo_bpm: float
    beats_per_bar: int
    count_in: int
    answer: bool
    parts: int = 2

    @property
    def meter(self) -> str:
        """The time signature: ``3/4``, ``6/8``."""
        return f"{self.beats_per_bar}/4" if self.parts == 2 else f"{self.beats_per_bar * 3}/8"

    @property
    def bars_per_key(self) -> int:
        """Bars that one time through takes."""
        return ceil(sum(self.target.beats) / self.beats_per_bar)

    @property
    def beats(self) -> int:
        """Beats from the count-in to the end."""
        bars = self.bars_per_key * (2 if self.answer else 1) * len(self.keys)
        return (self.count_in + bars) * self.beats_per_bar

    def key_start(self, place: int) -> int:
        """The beat on which a key begins."""
        bars = self.bars_per_key * (2 if self.answer else 1) * place
        return (self.count_in + bars) * self.beats_per_bar

    def struck(self) -> tuple[Struck, ...]:
        """Every voicing in order of time."""
        found = []
        for place, placed in enumerate(self.keys):
            start = Fraction(self.key_start(place))
            for chord, pitches in zip(self.target.chords, placed.pitches, strict=True):
                found.append(
                    Struck(key=place, chord=chord, start=start, beats=chord.beats, pitches=pitches)
                )
                start += chord.beats
        return tuple(found)


def in_meter(target: Target, beats_per_bar: int, *, parts: int = 2) -> Target:
    """A target written in bars of four, in bars of another length; others as they are.

    Dotted quarters are nobody's way to count a target, so bars of these are always made anew.
    """
    if parts == 2 and all(beats % beats_per_bar == 0 for beats in target.beats):
        return target
    chords = tuple(
        replace(chord, beats=chord.beats * beats_per_bar / BEATS_IN_BAR) for chord in target.chords
    )
    return replace(target, chords=chords)


def make_drill(
    target: Target,
    keys: Sequence[int],
    *,
    tempo_bpm: float | None = None,
    beats_per_bar: int = 4,
    parts: int = 2,
    count_in: int = 1,
    answer: bool = False,
    register: Register = USUAL,
) -> Drill:
    """Voice, place and time a target in some keys.

    tempo_bpm: the target's own if left out, else 80; of dotted quarters where parts is 3. Raises
    Complaint for a tempo outside 30..400, or a target that cannot be voiced or placed.
    """
    tempo = tempo_bpm or target.tempo_bpm or DEFAULT_BPM
    if not is_tempo(tempo):
        raise Complaint(
            f"a tempo of {tempo:g}: allowed are {SLOWEST_BPM:g} to {FASTEST_BPM:g} beats a minute"
        )
    full = in_meter(voiced(target), beats_per_bar, parts=parts)
    return Drill(
        target=full,
        keys=place_keys(full, keys, register),
        tempo_bpm=tempo,
        beats_per_bar=beats_per_bar,
        count_in=count_in,
        answer=answer,
        parts=parts,
    )
