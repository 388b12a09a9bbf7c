"""One chord of some changes: a symbol, or a numeral of the key."""

from collections.abc import Sequence

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.chord_grammar import SpellingError
from stackline.theory.chords.roman import in_key, is_numeral
from stackline.theory.chords.symbols import parse_plainly, underlined
from stackline.theory.sheet.changes_words import Word
from stackline.theory.sheet.lower_case import BothWays, LowerCase

SIGNS_OF_ORDER = ("D.C", "DC", "D.S", "DS", "Fine", "FINE", "Segno", "Coda", "CODA", "al")


class ReadingError(ValueError):
    """What cannot be read, with its word: the sentence comes from `in_line`."""

    def __init__(self, why: str, word: Word, fault: SpellingError | None = None) -> None:
        super().__init__(why)
        self.why, self.word, self.fault = why, word, fault

    def in_line(self, line: str) -> Complaint:
        """The complaint, with the line and the fault underlined."""
        text, start = self.word.text, self.word.start
        if self.fault:
            return Complaint(underlined(text, self.fault, line=line, offset=start))
        mark = " " * start + "^" + "~" * (len(text) - 1)
        return Complaint(f"cannot read {text!r}: {self.why}\n    {line}\n    {mark}")


class ChordReader:
    """Reads chords under what the whole text says of small letters and of the key.

    chords: every chord of the text as typed. tonic: the key of numerals; `key_is` sets it from
    the text where it was not given.
    """

    def __init__(self, chords: Sequence[str], *, german: bool, tonic: str | None) -> None:
        self._lower = LowerCase([one for one in chords if not is_numeral(one)])
        self._numerals = bool(chords) and is_numeral(chords[0])
        self._german, self._tonic, self._given = german, tonic, tonic is not None
        self.small: list[str] = []  # what small letters were read as, for the remarks

    def key_is(self, tonic: str) -> None:
        """A key that the text states; a key that was given by the caller stays."""
        if not self._given:
            self._tonic = tonic

    def read(self, word: Word) -> ChordSymbol:
        """The symbol of a word; raises ReadingError."""
        text = word.text
        if text.startswith(SIGNS_OF_ORDER):
            raise ReadingError("write the form out bar by bar, in the order it is played", word)
        if self._numerals or is_numeral(text):
            return self._numeral(word)
        spelled = self._spelled(word)
        try:
            symbol = parse_plainly(spelled, self._german)
        except SpellingError as fault:
            shift = 1 if _has_m_put_in(spelled, text) and fault.start > 1 else 0
            moved = SpellingError(fault.expected, fault.start - shift, fault.end - shift)
            raise ReadingError(fault.expected, word, moved) from None
        if _has_m_put_in(spelled, text):
            self.small.append(f"{text} as {symbol.text}")
        return symbol

    def _spelled(self, word: Word) -> str:
        """The text with a capital; words that no chord is meant by stay as they are."""
        try:
            return self._lower.spelled(word.text)
        except BothWays as both:
            if not self._reads(both.capital):
                return word.text
            raise ReadingError(
                f"a small letter may be a minor chord: write {both.minor} or {both.capital}, "
                "and a tension in brackets, C7(b9)",
                word,
            ) from None

    def _reads(self, text: str) -> bool:
        try:
            parse_plainly(text, self._german)
        except SpellingError:
            return False
        return True

    def _numeral(self, word: Word) -> ChordSymbol:
        if not is_numeral(word.text):
            raise ReadingError(
                "it stands among numerals: write all chords as degrees, or none", word
            )
        if not self._numerals:
            raise ReadingError("a numeral among chords: write all chords as degrees, or none", word)
        if self._tonic is None:
            raise ReadingError("a numeral needs a key: begin with key: Eb or the like", word)
        try:
            return in_key(word.text, self._tonic)
        except Complaint as fault:
            raise ReadingError(str(fault), word) from None


def _has_m_put_in(spelled: str, typed: str) -> bool:
    """Whether an ``m`` was put in for a small letter."""
    return len(spelled) > len(typed)
