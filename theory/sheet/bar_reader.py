"""Words of changes that have bar lines, gathered into bars and handed to the repeats."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from stackline.shared.harmony import ChordSymbol
from stackline.theory.sheet.changes import COMPOUND, USUAL_BEATS, Changes, ChangesBar
from stackline.theory.sheet.changes_words import Word
from stackline.theory.sheet.chord_reader import ChordReader, ReadingError
from stackline.theory.sheet.repeats import RepeatError, Unroller

METERS, BELOW = range(2, 13), (2, 4, 8)  # beats in a bar, and what a beat may be
LONGEST_COUNT = 7  # beats in a bar that its slashes may count out without a written meter
HELD = "a bar left empty holds the chord before it"


@dataclass
class Draft:
    """A bar while it is read. ends: whether a beat sign closed it, so that it is counted out."""

    words: list[Word] = field(default_factory=list)
    chords: list[ChordSymbol | None] = field(default_factory=list)
    beats: list[int] = field(default_factory=list)
    signs: list[int] = field(default_factory=list)
    ends: bool = False

    def add(self, word: Word, chord: ChordSymbol | None) -> None:
        """One chord more, a beat long until beat signs follow."""
        self.words.append(word)
        self.chords.append(chord)
        self.beats.append(1)
        self.signs.append(0)
        self.ends = False

    def more(self, word: Word) -> None:
        """Beats for the last chord."""
        self.beats[-1] += len(word.text)
        self.signs[-1] += len(word.text)
        self.words.append(word)
        self.ends = True

    @property
    def counted(self) -> bool:
        """Whether beats were written."""
        return self.ends or max(self.beats, default=1) > 1

    def count_signs(self, own: int) -> None:
        """Let the signs be the beats where that fills the bar: ``C // G7 //`` in four."""
        if self.ends and sum(self.beats) != own == sum(self.signs) and all(self.signs):
            self.beats = self.signs

    def bar(self) -> ChangesBar:
        """The bar as it stands."""
        beats = tuple(self.beats) if self.counted else ()
        return ChangesBar(chords=tuple(self.chords), beats=beats)


class BarReader:
    """Takes the words of line after line; `changes` is the form that they write."""

    def __init__(self, reader: ChordReader) -> None:
        self._reader = reader
        self._form: Unroller[ChangesBar] = Unroller()
        self._draft, self._before = Draft(), list[ChangesBar]()
        self._counts: list[tuple[Draft, str]] = []
        self._meter: tuple[int, int] | None = None
        self._pickup: ChangesBar | None = None
        self._pickup_due = self._close_due = self.is_lined = False
        self._line, self._line_bars, self._last_kind = "", 0, ""
        self._first: Draft | None = None
        self.remarks: list[str] = []

    def line(self, line: str, words: Sequence[Word]) -> None:
        """One line; raises Complaint with the place of what cannot be read."""
        self._line, self._line_bars, self._last_kind = line, 0, ""
        depth = 0
        for i, word in enumerate(words):
            depth += (word.kind == "open") - (word.kind == "close")
            try:
                if depth < 0:
                    raise ReadingError("a bracket that was never opened", word)
                self._word(word, last=all(one.kind == "bar" for one in words[i + 1 :]))
            except ReadingError as error:
                raise error.in_line(line) from None
            except RepeatError as error:
                raise ReadingError(str(error), word).in_line(line) from None
            self._last_kind = word.kind
        if depth:
            raise ReadingError("a closing bracket ) is missing", words[-1]).in_line(line)
        self._finish()

    def _word(self, word: Word, *, last: bool) -> None:
        if self._close_due and word.kind == "times":
            self._close_due = False
            self._form.close(_number(word.text))
            return
        if self._close_due:
            self._close()
        simple = {"chord": self._chord, "rest": self._rest, "beat": self._beat, "bar": self._bar,
                  "percent": self._percent, "ending": self._ending, "meter": self._set_meter,
                  "key": self._key, "label": self._label, "pickup": self._set_pickup}  # fmt: skip
        if word.kind == "times":
            self._times(word, last=last)
        elif word.kind in simple:
            simple[word.kind](word)
        elif word.kind == "lettered":
            letter = word.text.strip(" ()")
            raise ReadingError(f"a section or a chord? write [{letter}] or {letter}", word)
        elif word.kind == "odd":
            raise ReadingError("no part of changes; remarks stand between quotes", word)

    def _close(self) -> None:
        self._close_due = False
        self._form.close(None)

    def _chord(self, word: Word) -> None:
        self._draft.add(word, self._reader.read(word))

    def _rest(self, word: Word) -> None:
        self._draft.add(word, None)

    def _beat(self, word: Word) -> None:
        if not self._draft.chords:
            self._draft.add(word, self._last_chord(word))
            self._draft.beats[-1] = 0
        self._draft.more(word)

    def _last_chord(self, word: Word) -> ChordSymbol | None:
        if self._draft.chords:
            return self._draft.chords[-1]
        if not self._before:
            raise ReadingError(f"expected a chord before the first {word.text[0]}", word)
        return self._before[-1].chords[-1]

    def _percent(self, word: Word) -> None:
        if word.text in ("%%", "%2"):
            if self._draft.chords or len(self._before) < 2:
                raise ReadingError("expected two bars before it, and nothing beside it", word)
            for bar in self._before[-2:]:
                self._put(bar)
            return
        self._draft.add(word, self._last_chord(word))

    def _bar(self, word: Word) -> None:
        plain = word.text in ("|", "‖", "¦", "||")
        if plain and not self._draft.chords and self._last_kind == "bar" and self._before:
            self._put(ChangesBar(chords=self._before[-1].chords[-1:]))
            self.remarks.append(HELD)
        self._finish()
        self.is_lined = True
        if ":" in re.split(r"[|‖¦]", word.text)[0]:
            self._close_due, self._line_bars = True, 0
        if ":" in re.split(r"[|‖¦]", word.text)[-1]:
            if self._close_due:
                self._close()
            self._form.open()
            self._line_bars = 0

    def _finish(self) -> None:
        """The bar is over, if there is one."""
        draft, self._draft = self._draft, Draft()
        if not draft.chords:
            return
        alone = len(draft.words) == 1 and draft.words[0].kind == "percent" and self._before
        bar = self._before[-1] if alone else draft.bar()
        if self._pickup_due:
            self._pickup_due = False
            self._pickup = ChangesBar(chords=bar.chords, beats=tuple(draft.beats))
            self._before.append(bar)
            return
        if not self._before and not self.is_lined:
            self._first = draft
        if not alone:
            self._counts.append((draft, self._line))
        self._put(bar)

    def _put(self, bar: ChangesBar) -> None:
        self._form.bar(bar)
        self._before.append(bar)
        self._line_bars += 1

    def _times(self, word: Word, *, last: bool) -> None:
        if self._last_kind == "close":
            raise ReadingError("repeat bars with |: and :|, not with brackets", word)
        if self._draft.chords:
            self._finish()
            self._form.play_again(1, _number(word.text))
        elif last:
            self._form.play_again(self._line_bars, _number(word.text))
        else:
            raise ReadingError("it stands after :|, in a bar, or at the end of a line", word)

    def _ending(self, word: Word) -> None:
        if self._draft.chords:
            raise ReadingError("a number is not a chord; endings stand where a bar begins", word)
        self._form.ending(_numbers(word))
        self._line_bars = 0

    def _set_meter(self, word: Word) -> None:
        above, below = (int(one) for one in re.findall(r"\d+", word.text))
        if above not in METERS or below not in BELOW:
            raise ReadingError("no meter known here: write 3/4, 4/4, 6/8, 12/8 or the like", word)
        if self._before and self._meter != (above, below):
            raise ReadingError("a change of meter inside the form is not followed", word)
        self._meter = (above, below)

    def _key(self, word: Word) -> None:
        found = re.search(r"([A-G])([b#♭♯]?)(?:\s?(?:major|minor|maj|min|m))?:?$", word.text)
        assert found  # the word is of that form
        self._reader.key_is(found[1] + {"♭": "b", "♯": "#"}.get(found[2], found[2]))

    def _label(self, word: Word) -> None:
        if self._draft.chords:
            raise ReadingError("the name of a section stands where a bar begins", word)

    def _set_pickup(self, word: Word) -> None:
        if self._before or self._draft.chords:
            raise ReadingError("a pickup stands before the first bar", word)
        self._pickup_due = True

    def changes(self, small: Sequence[str]) -> Changes | None:
        """The whole form; None if there was no bar. Raises Complaint for a fault in it.

        small: what small letters were read as.
        """
        last = Word(kind="odd", text=self._line.strip() or " ", start=0)
        try:
            if self._close_due:
                self._close()
            bars = self._form.end()
        except RepeatError as error:
            raise ReadingError(str(error), last).in_line(self._line) from None
        own = self._own_beats()
        as_read = [(draft, draft.bar()) for draft, _ in self._counts]
        for draft, _ in as_read:
            draft.count_signs(own)
        counted = {bar: draft.bar() for draft, bar in as_read}
        bars = [counted.get(bar, bar) for bar in bars]
        first = self._first
        if first and first.ends and sum(first.beats) < own and len(bars) > 1:
            self._pickup, bars = first.bar(), bars[1:]
        self._check_counts(own)
        if not bars:
            return None
        if small:
            listed = ", ".join(dict.fromkeys(small))
            self.remarks.append(f"small letters are read as minor chords: {listed}")
        return Changes(
            bars=tuple(bars), meter=self._meter, pickup=self._pickup,
            remarks=tuple(dict.fromkeys(self.remarks)),
        )  # fmt: skip

    def _own_beats(self) -> int:
        """Beats in a bar: of the meter, or as most bars that are counted out have them."""
        if self._meter:
            return Changes(bars=(), meter=self._meter).beats_per_bar or USUAL_BEATS
        drafts = [one for one, _ in self._counts if one.ends and one is not self._first]
        if all(USUAL_BEATS in (sum(one.beats), sum(one.signs)) for one in drafts):
            return USUAL_BEATS
        counts = [sum(one.beats) for one in drafts]
        own = max(sorted(set(counts)), key=counts.count, default=USUAL_BEATS)
        if own != USUAL_BEATS and 2 <= own <= LONGEST_COUNT and counts.count(own) * 2 > len(counts):
            self._meter = (own, 4)
            self.remarks.append(f"read in {own}/4: the beats written in a bar are {own}")
            return own
        return USUAL_BEATS

    def _check_counts(self, own: int) -> None:
        """Raise Complaint for a bar whose written beats do not fit it."""
        eighths = self._meter[0] if self._meter and self._meter[0] in COMPOUND else own
        for draft, line in self._counts:
            written = sum(draft.beats)
            if not draft.counted or (draft is self._first and self._pickup):
                continue
            fits = written in (own, eighths) if draft.ends else written <= own
            if not fits:
                first, end = draft.words[0], draft.words[-1]
                text = line[first.start : end.start + len(end.text)]
                word = Word(kind="odd", text=text, start=first.start)
                raise ReadingError(f"{written} beats are written in a bar of {own}", word).in_line(
                    line
                )


def _number(text: str) -> int:
    return int(re.findall(r"\d+", text)[0])


def _numbers(word: Word) -> list[int]:
    """The passes that an ending is for: ``1.``, ``1,2.``, ``1-3.``"""
    numbers = [int(one) for one in re.findall(r"\d+", word.text)]
    if "-" in word.text and len(numbers) == 2:
        numbers = list(range(numbers[0], numbers[1] + 1))
    if not numbers or max(numbers) > LONGEST_COUNT:
        raise ReadingError("endings are numbered 1. 2. and so on", word)
    return numbers
