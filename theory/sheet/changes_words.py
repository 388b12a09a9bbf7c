"""Changes as players type them, cut into words: chords, bar lines, repeats, beats, marks.

Every letter of the text falls into one word; what none of the kinds fits is kept as "odd", so
that it can be refused by name. Signs are those of printed charts and of plain text (common
practice): ``|`` ``||`` ``|:`` ``:|`` bar lines, ``%`` ``%%`` bars again, ``/`` ``.`` ``-`` one
beat more, ``x2`` times, ``1.`` ``2.`` endings, ``[A]`` ``A:`` ``Bridge`` sections.
"""

import re
from dataclasses import dataclass

SECTIONS = (
    "intro|introduction|verse|chorus|refrain|bridge|head|solos?|interlude|tag|outro|vamp|turnaround|"
    "middle|section|part|release|theme|out"
)
_LABEL = rf"(?:(?:{SECTIONS})(?:[ ]?[A-Z\d]\d?)?|[A-Z]\d?'{{0,3}}(?:[ ](?:section|part))?)"
_ALTERATION = r"(?:add|maj|M|\^|Δ|sus|alt|no|omit|[b#♭♯+-]?\d+(?![\dxX×]))"
_END = r"(?=[\s|]|$)"

_WORD = re.compile(
    rf"""
    (?P<lettered>^\s*\([A-Z]\)(?=\s*[|‖¦]))
  | (?P<space>\s+)
  | (?P<remark>"[^"]*")
  | (?P<bar>(?::\s*)?(?:[|‖¦]{{1,2}}|\[\|)(?:\s*:(?!\s*[|‖¦])|\])?)
  | (?P<meter>[(\[]?\b\d{{1,2}}/\d{{1,2}}\b[)\]]?)
  | (?P<times>[(\[]?\b(?:[x×X][ ]?\d{{1,2}}|\d{{1,2}}[ ]?[x×X]\b)[)\]]?(?![\w/]))
  | (?P<ending>\[?\d{{1,2}}(?:\s?[,&-]\s?\d{{1,2}})*(?:\.[)\]:]?|[)\]:]|(?=\s)))
  | (?P<percent>%%|%2|%|\./\.)
  | (?P<key>(?i:key(?:\s+of)?|\bin(?=\s+[A-G][b#♭♯]?m?:))\s*[:=]?\s*[A-G][b#♭♯]?
      (?:\s?(?:major|minor|maj|min|m)\b)?:?{_END})
  | (?P<time>(?i:time|meter|metre)\s*[:=]?(?=\s*\d))
  | (?P<pickup>\[(?i:pickup|pick-up|upbeat|anacrusis)\]|(?i:pickup|pick-up|upbeat|anacrusis)\b:?)
  | (?P<label>(?i:\[{_LABEL}\]|<{_LABEL}>|{_LABEL}:{_END}|\b(?:{SECTIONS})(?:[ ]\d)?{_END}))
  | (?P<rest>\(?(?:N\.[ ]?C\.?|NC|n\.c\.?|nc|N/C|(?i:no[ ]chord)|tacet)\)?(?=[\s|,;)]|$))
  | (?P<beat>(?:/+|\.+|-+|–|—)(?=[\s|/.,]|$))
  | (?P<join>->|→|⟶|[,;])
  | (?P<open>\((?=\s*(?:[A-G]|N\.?C)))
  | (?P<close>\))
  | (?P<chord>[^\s|‖¦,;()\[\]{{}}"%:]+
      (?:\([^()|‖¦]*\)[^\s|‖¦,;()\[\]{{}}"%:]*
        |[ ]+\(\s*(?={_ALTERATION})[^()|‖¦]*\)
        |[ ]+[#♯]\d+(?![^\s|‖¦,;]))*
      (?:\([^()|‖¦]*(?=[|‖¦]|$))?)
  | (?P<odd>.)
    """,
    re.VERBOSE,
)


@dataclass(frozen=True, kw_only=True)
class Word:
    """One word: its kind (a group of the expression above), and where it stands in its line."""

    kind: str
    text: str
    start: int


def words_of(line: str) -> list[Word]:
    """The words of one line in order, spaces and remarks left out.

    A line that begins with ``#`` and a space is a remark from end to end. Slashes that close a
    chord (``C///``) are words of their own, since each is a beat.
    """
    if re.match(r"\s*#\s", line):
        return []
    found: list[Word] = []
    place = 0
    while place < len(line):
        match = _WORD.match(line, place)
        assert match  # every letter is at least odd
        place = match.end()
        kind = str(match.lastgroup)
        if kind == "chord":
            found += _without_slashes(match[0], match.start())
        elif kind not in ("space", "remark"):
            found.append(Word(kind=kind, text=match[0], start=match.start()))
    return found


def _without_slashes(text: str, start: int) -> list[Word]:
    """A chord, and the slashes or dots that close it."""
    parts = re.fullmatch(r"(.*?)(/+|\.+)", text)
    if not parts or not parts[1]:
        return [Word(kind="chord", text=text, start=start)]
    return [
        Word(kind="chord", text=parts[1], start=start),
        Word(kind="beat", text=parts[2], start=start + len(parts[1])),
    ]


def is_lone_letter(words: list[Word]) -> bool:
    """Whether a line is one capital letter: above bars that is the name of a section."""
    return len(words) == 1 and re.fullmatch(r"\(?[A-Z]\d?'{0,3}[.)]?", words[0].text) is not None
