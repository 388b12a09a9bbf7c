"""Reading changes: bars between ``|``, chords between spaces, as players type them.

What is understood stands in `changes_words`, `bar_reader`, `repeats`, `loose_chords`,
`lower_case`, and for the chords in `symbols` and `roman`. The rules (common practice, if no other
reason is given):

    %  alone repeats the bar before, %% the two before; beside chords % repeats the chord
    /  . -  a beat more for the chord before; what is left of a bar is its last chord's
    | |  a bar left empty holds the chord before it
    x2  after :| plays the repeat so often, in a bar that bar, at the end of a line its bars
    a first bar without a bar line before it whose written beats fall short is a pickup
    no bar line anywhere: each chord is given a bar (ours, and said in a remark)

Remarks stand between quotes, or on a line that begins with ``#``. Nothing else is passed over:
what cannot be read is refused with its place.
"""

import re

from stackline.shared.complaint import Complaint
from stackline.theory.chords.roman import is_numeral
from stackline.theory.sheet.bar_reader import BarReader
from stackline.theory.sheet.changes import Changes
from stackline.theory.sheet.changes_words import Word, is_lone_letter, words_of
from stackline.theory.sheet.chord_reader import ChordReader, ReadingError
from stackline.theory.sheet.loose_chords import with_bar_lines

MOST_LETTERS, MOST_BARS = 60_000, 1000  # hours of music; more is not a form
EMPTY = "the changes are empty: write bars such as | Dm9 | G13 | Cmaj9 | % |"


def parse_changes(text: str, *, german: bool = False, tonic: str | None = None) -> Changes:
    """Read changes; raises Complaint with the faulty place underlined in its line.

    german: read B as Bb and H as B. tonic: the key that numerals are read in; without it they
    need a ``key: Eb`` in the text.
    """
    if len(text) > MOST_LETTERS:
        raise Complaint(
            f"the changes have {len(text)} letters; give a form of up to {MOST_LETTERS}"
        )
    lines = [(line, words_of(line)) for line in text.splitlines()]
    reader = ChordReader(_chords(lines), german=german, tonic=tonic)
    bars = BarReader(reader)
    is_lined = any(word.kind == "bar" for _, words in lines for word in words)
    for line, words in lines:
        if is_lined and is_lone_letter(words):
            bars.remarks.append(f"{words[0].text} on a line of its own is read as a section")
        elif is_lined:
            bars.line(line, words)
        elif words:
            _loose_line(line, words, bars, _beats(lines))
    changes = bars.changes(reader.small)
    if changes is None:
        raise Complaint(EMPTY)
    if len(changes.bars) > MOST_BARS:
        raise Complaint(
            f"the changes have {len(changes.bars)} bars; give a form of up to {MOST_BARS}: "
            "it begins again from the top by itself"
        )
    return changes


def speaks_in_numerals(text: str) -> bool:
    """Whether the chords of a text are degrees of a key, by the first of them."""
    chords = _chords([(line, words_of(line)) for line in text.splitlines()])
    return bool(chords) and is_numeral(chords[0])


def _chords(lines: list[tuple[str, list[Word]]]) -> list[str]:
    return [word.text for _, words in lines for word in words if word.kind == "chord"]


def _beats(lines: list[tuple[str, list[Word]]]) -> int | None:
    """Beats of the first meter that is written."""
    meters = (word.text for _, words in lines for word in words if word.kind == "meter")
    first = next(meters, None)
    return int(re.findall(r"\d+", first)[0]) if first else None


def _loose_line(line: str, words: list[Word], bars: BarReader, beats: int | None) -> None:
    try:
        put_in, remark = with_bar_lines(words, beats)
    except ReadingError as error:
        raise error.in_line(line) from None
    bars.is_lined = True
    bars.remarks.append(remark)
    bars.line(line, put_in)
