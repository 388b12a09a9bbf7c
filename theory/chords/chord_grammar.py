"""The grammar of what players write after a root: ``m7b5``, ``^7``, ``13(b9)``, ``7alt``.

    quality   = [third] [number] {modifier}
    third     = maj | min | dim | half-dim | aug       (and their many spellings)
    number    = 6/9 | 69 | 13 | 11 | 9 | 7 | 6 | 5 | 4 | 2
    modifier  = "(" change {[","] change} ")" | [","] change | sus [4|2] | alt | maj7
    change    = [add] [accidental] number               accidental = b | # | + | -

A slash before an alteration is a comma (``C7/b9``), and spaces say nothing. Tokens are named, the
whole text is consumed, and an error knows where it stands. The
result is a set of degrees, which `symbols` looks up in the table of qualities: a
spelling needs no row of its own. Stated readings (common practice): 13 has the 9 but not
the 11; 11 alone is 9sus; #5 beside an altered 9 is a b13, and b5 beside one a #11.
"""

import re
from dataclasses import dataclass

_TOKEN = re.compile(
    r"(?P<half>half-?dim(?:inished)?7?|ø7?|Ø7?|h7?)"
    r"|(?P<dim>dim|°|º|o)"
    r"|(?P<aug>aug)"
    r"|(?P<maj>major|maj|Maj|MAJ|ma(?=\d)|Ma(?=\d)|MA(?=\d)|M(?!I)|\^|Δ|∆|△|j(?=7))"
    r"|(?P<sus>sus)"
    r"|(?P<alt>alt)"
    r"|(?P<add>add)"
    r"|(?P<min>minor|min|MIN|mi|MI|m)"
    r"|(?P<sixnine>6/9|69)"
    r"|(?P<number>13|11|9|7|6|5|4|2)(?!\d)"
    r"|(?P<sharp>#|♯)|(?P<flat>b|♭)|(?P<plus>\+)|(?P<minus>-|–|−)"
    r"|(?P<open>\()|(?P<close>\))|(?P<comma>[,/])|(?P<space>\s+)"
)
TRIANGLES = frozenset("^Δ∆△")  # a triangle alone means the major 7th (common practice)
_THIRDS = {"maj", "min", "dim", "half", "aug", "plus", "minus"}


class SpellingError(ValueError):
    """A quality that the grammar refuses: what was expected, and where (start, end)."""

    def __init__(self, expected: str, start: int, end: int) -> None:
        super().__init__(expected)
        self.expected, self.start, self.end = expected, start, max(end, start + 1)


@dataclass(frozen=True)
class _Token:
    kind: str
    text: str
    start: int
    end: int


def _tokens(text: str) -> list[_Token]:
    """Cut a quality into named tokens; refuses whatever none of them matches."""
    found, place = [], 0
    while place < len(text):
        match = _TOKEN.match(text, place)
        if not match:
            bad = re.compile(r"\d+|[A-Za-z]+|.").match(text, place)
            end = bad.end() if bad else place + 1
            raise SpellingError("a quality such as 7, m9, maj7, 13(b9) or 7alt", place, end)
        if match.lastgroup != "space":
            found.append(_Token(str(match.lastgroup), match[0], match.start(), match.end()))
        place = match.end()
    return found


class _Parser:
    """Recursive descent over the tokens; collects a third, a number and changes."""

    def __init__(self, text: str) -> None:
        self.tokens = _tokens(text)
        self.end = len(text)
        self.at = 0
        self.third = ""
        self.major_seventh = False
        self.number = ""
        self.sus = ""
        self.alt = False
        self.changes: list[str] = []

    def peek(self, *kinds: str) -> bool:
        return self.at < len(self.tokens) and self.tokens[self.at].kind in kinds

    def take(self) -> _Token:
        self.at += 1
        return self.tokens[self.at - 1]

    def fail(self, expected: str) -> SpellingError:
        if self.at < len(self.tokens):
            token = self.tokens[self.at]
            return SpellingError(expected, token.start, token.end)
        return SpellingError(expected, self.end, self.end + 1)

    def quality(self) -> None:
        """Quality = [third] [number] {modifier}"""
        if self.peek(*_THIRDS):
            token = self.take()
            self.third = {"plus": "aug", "minus": "min"}.get(token.kind, token.kind)
            if token.text.endswith("7") or token.text in TRIANGLES:
                self.number = "7"
        if self.third in ("min", "dim", "aug") and self.peek("maj"):
            self.take()
            self.major_seventh = True
        if self.peek("number", "sixnine") and (not self.number or self.third != "half"):
            self.number = self.take().text.replace("69", "6/9")
        if self.major_seventh and self.number not in ("7", "9", "11", "13"):
            self.number = self.number or "7"
        while self.at < len(self.tokens):
            self.modifier()

    def modifier(self) -> None:
        """Modifier = "(" change {"," change} ")" | change | sus | alt"""
        if self.peek("comma"):  # C7/b9
            self.take()
        if not self.peek("open"):
            self.change()
            return
        self.take()
        self.change()
        while not self.peek("close"):
            if self.peek("comma"):
                self.take()
            elif self.at >= len(self.tokens):
                raise self.fail("a closing bracket )")
            self.change()
        self.take()

    def change(self) -> None:
        """Change = [add] [accidental] number, or sus, alt, maj7"""
        if self.peek("sus"):
            self.take()
            two = self.peek("number") and self.tokens[self.at].text in ("2", "4")
            self.sus = "sus" + (self.take().text if two else "4")
            if self.peek("number") and not self.number:
                self.number = self.take().text
        elif self.peek("alt"):
            self.take()
            self.alt = True
        elif self.peek("aug"):  # C7aug
            self.take()
            self.changes.append("#5")
        elif self.peek("maj"):
            self.take()
            self.major_seventh = True
            size = self.take().text if self.peek("number") else "7"
            if self.number not in ("9", "11", "13"):  # m9(maj7) keeps its 9
                self.number = size
        else:
            self.alteration()

    def alteration(self) -> None:
        """[add] [accidental] number"""
        added = self.peek("add")
        if added:
            self.take()
        sign = ""
        if self.peek("flat", "minus"):
            self.take()
            sign = "b"
        elif self.peek("sharp", "plus"):
            plus_alone = self.peek("plus") and self.at + 1 == len(self.tokens)
            self.take()
            sign = "#"
            if plus_alone:  # 7+ is 7(#5)
                self.changes.append("#5")
                return
        if not self.peek("number"):
            raise self.fail("an alteration such as b9, #9, #11, b13 or #5")
        self.changes.append(sign + self.take().text)


def degrees_of(text: str) -> frozenset[str]:
    """The degrees (texts) that a quality's spelling means.

    Raises SpellingError with the place of what is wrong, counted from the text's start.
    """
    parser = _Parser(text)
    parser.quality()
    if parser.alt:
        return frozenset(["R", "3", "b7", "b9", "#9", "b13"])
    found = _base(parser)
    altered_nine = bool({"b9", "#9"} & set(parser.changes))
    dominant = "b7" in found and "3" in found
    for change in parser.changes:
        _apply(found, change, dominant=dominant, altered_nine=altered_nine)
    if "6" in found and found & {"7", "b7"}:
        found = (found - {"6"}) | {"13"}
    if found >= {"b3", "b5", "6"} and "5" not in found and not found & {"7", "b7"}:
        found = (found - {"6"}) | {"bb7"}
    return frozenset(found)


def _base(parser: _Parser) -> set[str]:
    """Degrees of third and number, before changes."""
    number, third = parser.number, parser.third
    major_seventh = parser.major_seventh or third == "maj"
    found = {
        "": {"R", "3", "5"}, "maj": {"R", "3", "5"}, "min": {"R", "b3", "5"},
        "aug": {"R", "3", "#5"}, "dim": {"R", "b3", "b5"}, "half": {"R", "b3", "b5", "b7"},
    }[third]  # fmt: skip
    if number in ("7", "9", "11", "13"):
        diminished = third == "dim" and not major_seventh
        found.add("bb7" if diminished else "7" if major_seventh else "b7")
    if number in ("9", "11", "13", "6/9"):
        found.add("9")
    if number in ("6", "6/9"):
        found.add("6")
    if number == "13":
        found.add("13")
    if number == "11":
        minor = bool(found & {"b3"})
        found.add("11" if minor else "4")
        found -= set() if minor else {"3"}
    if number == "5":  # a bare fifth
        found -= {"3", "b3"}
    if number == "2":
        found.add("9")
    if number == "4" or parser.sus == "sus4":
        found = (found - {"3", "b3"}) | {"4"}
    if parser.sus == "sus2":
        found = (found - {"3", "b3"}) | {"9"}
    return found


def _apply(found: set[str], change: str, *, dominant: bool, altered_nine: bool) -> None:
    """One alteration: it adds a tension, or takes the place of the 5 or the natural 9."""
    change = {"2": "9", "b6": "b13", "#4": "#11", "b2": "b9", "#2": "#9"}.get(change, change)
    if change == "4":
        change = "11"
    if dominant and altered_nine:
        change = {"#5": "b13", "b5": "#11"}.get(change, change)
    if change in ("b9", "#9"):
        found.discard("9")
    if change in ("b5", "#5"):
        found.discard("5")
    if change == "13" and not found & {"7", "b7", "bb7"}:
        change = "6"
    if change == "b13":
        found.discard("13")
    found.add(change)
