"""Changes without a single bar line: each chord is given a bar, or beats are counted out.

Where no beat is written, every chord has a bar of its own; a dash or a slash between all of them
only parts them. Where beats are written (``Dm7 / G7 /``), bars are filled with them. A remark says
which.
"""

import re
from collections.abc import Sequence

from stackline.theory.sheet.changes import USUAL_BEATS
from stackline.theory.sheet.changes_words import Word
from stackline.theory.sheet.chord_reader import ReadingError

OWN_BARS = "no bar lines: each chord was given a bar of its own"
COUNTED = "no bar lines: bars of {} beats were filled with the beats written"
_CHORDS = ("chord", "rest", "percent")


def with_bar_lines(words: Sequence[Word], beats: int | None) -> tuple[list[Word], str]:
    """The words of one line with bar lines put in, and the remark that says so.

    beats: of the meter, None if none is written.
    """
    _check_times(words)
    parted = _without_partings(_played_out(words))
    if any(word.kind == "beat" for word in parted):
        return _filled(parted, beats or USUAL_BEATS), COUNTED.format(beats or USUAL_BEATS)
    found: list[Word] = []
    for i, word in enumerate(parted):
        following = parted[i + 1] if i + 1 < len(parted) else None
        found.append(word)
        goes_on = following is not None and following.kind in ("times", "close")
        if word.kind in ("times", "close") or (word.kind in _CHORDS and not goes_on):
            found.append(_bar_line(word))
    return found, OWN_BARS


def _check_times(words: Sequence[Word]) -> None:
    """Refuse a closing x2 that may be the last chord's or the line's."""
    chords = sum(word.kind in _CHORDS for word in words)
    times = [word for word in words if word.kind == "times"]
    if chords > 1 and times == [words[-1]] and words[-2].kind in _CHORDS:
        raise ReadingError("the chord or the whole line? put what is repeated in (...)", words[-1])


def _played_out(words: Sequence[Word]) -> list[Word]:
    """``(Dm7 G7) x2`` written out."""
    found: list[Word] = []
    opened = 0
    for i, word in enumerate(words):
        if word.kind == "times" and i and words[i - 1].kind == "close":
            found += found[opened:] * (int(re.findall(r"\d+", word.text)[0]) - 1)
            continue
        if word.kind == "open":
            opened = len(found)
        found.append(word)
    return found


def _bar_line(after: Word) -> Word:
    return Word(kind="bar", text="|", start=after.start + len(after.text))


def _without_partings(words: Sequence[Word]) -> list[Word]:
    """A sign that stands once between any two chords, and nowhere else, only parts them."""
    kinds = [word.kind for word in words]
    signs = [i for i, kind in enumerate(kinds) if kind == "beat"]
    chords = sum(kind in _CHORDS for kind in kinds)
    parting = len(signs) == chords - 1 and all(
        words[i].text in ("-", "–", "—", "/")
        and 0 < i < len(words) - 1
        and kinds[i - 1] in _CHORDS
        and kinds[i + 1] in _CHORDS
        for i in signs
    )
    return [word for word in words if word.kind != "beat"] if parting else list(words)


def _filled(words: Sequence[Word], beats: int) -> list[Word]:
    """Bar lines after every so many beats; a chord that would cross one is refused."""
    found: list[Word] = []
    filled, last = 0, None
    for word in words:
        if word.kind in _CHORDS:
            if filled == beats:
                found.append(_bar_line(found[-1]))
                filled = 0
            filled, last = filled + 1, word
        elif word.kind == "beat":
            filled += len(word.text)
        if filled > beats:
            raise ReadingError(
                f"its beats go past the end of a bar of {beats}: write bar lines |", last or word
            )
        found.append(word)
    return found
