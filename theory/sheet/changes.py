"""The changes of a tune: bars of chords, and where each chord stands.

Chords share a bar evenly in whole beats, the earlier ones getting what is over: three chords in
four beats take 2, 1 and 1 (common practice); where beats were written, those count. How changes
are written down is in `changes_text`.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from stackline.shared.harmony import ChordSymbol

COMPOUND = frozenset({6, 9, 12})  # eighths that are felt in threes (common practice)
USUAL_BEATS = 4


@dataclass(frozen=True, kw_only=True)
class ChangesBar:
    """One bar: its chords in order; None is a rest (N.C.).

    beats: those written for each chord, as many as chords; empty where none were.
    """

    chords: tuple[ChordSymbol | None, ...]
    beats: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Changes:
    """The bars of a form, in order; played again from the top when it ends.

    meter: as written, (3, 4) for 3/4; None if left out. pickup: a shorter bar before the first
    time through. remarks: what was read otherwise than a reader might think, in words.
    """

    bars: tuple[ChangesBar, ...]
    meter: tuple[int, int] | None = None
    pickup: ChangesBar | None = None
    remarks: tuple[str, ...] = field(default=(), compare=False)

    @property
    def chords(self) -> tuple[ChordSymbol | None, ...]:
        """Every chord in order, those of the pickup first."""
        first = (self.pickup,) if self.pickup else ()
        return tuple(chord for bar in (*first, *self.bars) for chord in bar.chords)

    @property
    def beats_per_bar(self) -> int | None:
        """Beats in a bar of the written meter (12/8 has four); None without one."""
        if self.meter is None:
            return None
        above, below = self.meter
        return above // 3 if below == 8 and above in COMPOUND else above


@dataclass(frozen=True, kw_only=True)
class PlacedChord:
    """A chord of the form with its place: bar from 0, first beat from 0, length in beats.

    A pickup stands in bar -1, on the beats that end it.
    """

    symbol: ChordSymbol | None
    bar: int
    beat: Fraction
    beats: Fraction


def place_chords(changes: Changes, beats_per_bar: int) -> tuple[PlacedChord, ...]:
    """Every chord of the form with its bar, beat and length in beats; the pickup is left out.

    beats_per_bar: how beats are counted where the chords are laid; a bar written in another
    meter fills one bar there, in proportion.
    """
    own = changes.beats_per_bar or beats_per_bar
    scale = Fraction(beats_per_bar, own)
    return tuple(
        one
        for number, bar in enumerate(changes.bars)
        for one in _placed(bar, number, Fraction(0), _lengths(bar, own), scale)
    )


def place_pickup(changes: Changes, beats_per_bar: int) -> tuple[PlacedChord, ...]:
    """The chords before the first bar, on the last beats of bar -1; empty without a pickup."""
    if changes.pickup is None:
        return ()
    own = changes.beats_per_bar or beats_per_bar
    lengths = [Fraction(one) for one in changes.pickup.beats]
    start = own - sum(lengths, Fraction(0))
    return tuple(_placed(changes.pickup, -1, start, lengths, Fraction(beats_per_bar, own)))


def _placed(
    bar: ChangesBar, number: int, beat: Fraction, lengths: list[Fraction], scale: Fraction
) -> Iterator[PlacedChord]:
    for chord, length in zip(bar.chords, lengths, strict=True):
        yield PlacedChord(symbol=chord, bar=number, beat=beat * scale, beats=length * scale)
        beat += length


def _lengths(bar: ChangesBar, own: int) -> list[Fraction]:
    """Beats of each chord in a bar of `own` beats; what was not written is the last chord's."""
    if not bar.beats:
        return _shares(len(bar.chords), own)
    written = sum(bar.beats)
    if written > own:
        return [Fraction(one * own, written) for one in bar.beats]
    *first, last = bar.beats
    return [*map(Fraction, first), Fraction(last + own - written)]


def _shares(count: int, beats: int) -> list[Fraction]:
    """Lengths of `count` chords in a bar of `beats`: whole beats where there are enough."""
    if count > beats:
        return [Fraction(beats, count)] * count
    each, over = divmod(beats, count)
    return [Fraction(each + (i < over)) for i in range(count)]
