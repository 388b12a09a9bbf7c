"""The changes of a tune as plain text: bars between ``|``, chords between spaces.

``%`` alone in a bar repeats the bar before it, beside other chords it repeats the chord
before it; ``N.C.`` (no chord) rests. Lines may end anywhere; text after ``//`` on a line is
a remark. Chords share a bar evenly in whole beats, the earlier ones getting what is over:
three chords in four beats take 2, 1 and 1 (common practice).
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.chord_grammar import SpellingError
from stackline.theory.chords.spelling import fifths
from stackline.theory.chords.symbols import fifths_shift, parse_plainly, transpose, underlined

NO_CHORD = frozenset({"N.C.", "NC", "n.c.", "N.C"})


@dataclass(frozen=True, kw_only=True)
class ChangesBar:
    """One bar: its chords in order; None is a rest (N.C.)."""

    chords: tuple[ChordSymbol | None, ...]


@dataclass(frozen=True, kw_only=True)
class Changes:
    """The bars of a form, in order; played again from the top when it ends."""

    bars: tuple[ChangesBar, ...]

    @property
    def chords(self) -> tuple[ChordSymbol | None, ...]:
        """Every chord of the form in order."""
        return tuple(chord for bar in self.bars for chord in bar.chords)


@dataclass(frozen=True, kw_only=True)
class PlacedChord:
    """A chord of the form with its place: bar from 0, first beat from 0, length in beats."""

    symbol: ChordSymbol | None
    bar: int
    beat: Fraction
    beats: Fraction


def parse_changes(text: str, *, german: bool = False) -> Changes:
    """Read changes; raises Complaint with the faulty symbol underlined in its line."""
    bars: list[ChangesBar] = []
    for line in text.splitlines():
        remark = line.find("//")
        code = line if remark < 0 else line[:remark]
        for start, end in _bar_places(code):
            bars.append(_bar(line, start, end, bars, german))
    if not bars:
        raise Complaint("the changes are empty: write bars such as | Dm9 | G13 | Cmaj9 | % |")
    return Changes(bars=tuple(bars))


def _bar_places(line: str) -> list[tuple[int, int]]:
    """Start and end of what stands between bar lines; empty stretches are no bars."""
    return [
        found.span() for found in re.finditer(r"[^|]+", line) if found[0].strip(" \t:[]")
    ]  # repeat signs and brackets around the form are passed over


def _bar(line: str, start: int, end: int, before: list[ChangesBar], german: bool) -> ChangesBar:
    words = [w for w in re.finditer(r"\S+", line[start:end]) if w[0].strip(":[]")]
    if len(words) == 1 and words[0][0] == "%":
        if not before:
            raise Complaint(
                _fault(line, start + words[0].start(), "%", "a chord before the first %")
            )
        return before[-1]
    chords: list[ChordSymbol | None] = []
    for word in words:
        place = start + word.start()
        if word[0] == "%":
            chords.append(_repeated(line, place, chords, before))
        elif word[0] in NO_CHORD:
            chords.append(None)
        else:
            chords.append(_chord(line, place, word[0], german))
    return ChangesBar(chords=tuple(chords))


def _repeated(
    line: str, place: int, chords: list[ChordSymbol | None], before: list[ChangesBar]
) -> ChordSymbol | None:
    """What a % beside other chords repeats."""
    if chords:
        return chords[-1]
    if before:
        return before[-1].chords[-1]
    raise Complaint(_fault(line, place, "%", "a chord before the first %"))


def _chord(line: str, place: int, word: str, german: bool) -> ChordSymbol:
    try:
        return parse_plainly(word, german)
    except SpellingError as error:
        raise Complaint(underlined(word, error, line=line, offset=place)) from None


def _fault(line: str, place: int, word: str, expected: str) -> str:
    return underlined(word, SpellingError(expected, 0, len(word)), line=line, offset=place)


def place_chords(changes: Changes, beats_per_bar: int) -> tuple[PlacedChord, ...]:
    """Every chord of the form with its bar, beat and length in beats."""
    placed = []
    for number, bar in enumerate(changes.bars):
        beat = Fraction(0)
        for chord, length in zip(bar.chords, _shares(len(bar.chords), beats_per_bar), strict=True):
            placed.append(PlacedChord(symbol=chord, bar=number, beat=beat, beats=length))
            beat += length
    return tuple(placed)


def _shares(count: int, beats: int) -> list[Fraction]:
    """Lengths of `count` chords in a bar of `beats`: whole beats where there are enough."""
    if count > beats:
        return [Fraction(beats, count)] * count
    each, over = divmod(beats, count)
    return [Fraction(each + (i < over)) for i in range(count)]


def print_changes(changes: Changes) -> str:
    """The changes as text that `parse_changes` reads back, four bars a line."""
    bars = [" ".join(c.text if c else "N.C." for c in bar.chords) for bar in changes.bars]
    lines = [" | ".join(bars[i : i + 4]) for i in range(0, len(bars), 4)]
    return "\n".join(f"| {line} |" for line in lines)


def transpose_changes(changes: Changes, semitones_up: int) -> Changes:
    """The whole form moved up by semitones, spelled in one key."""
    places = tuple(fifths(chord.root) for chord in changes.chords if chord)
    shift = fifths_shift(semitones_up, places)

    def moved(chord: ChordSymbol | None) -> ChordSymbol | None:
        return transpose(chord, semitones_up, shift=shift) if chord else None

    return Changes(
        bars=tuple(ChangesBar(chords=tuple(map(moved, bar.chords))) for bar in changes.bars)
    )
