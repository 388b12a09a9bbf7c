"""The table of chord qualities. All else about chord symbols is derived from it.

A row: key (what is printed after the root, ASCII), family, degrees in stacking order,
Harte's notation after the colon (Harte et al. 2005), MusicXML 4.0 kind with its degree
elements (`add` is relative to a dominant chord there: plain 7 means the b7), and the
other spellings that players write for it. Alterations in brackets, in whatever order,
and "add" are understood by `stackline.theory.chords.symbols` without a row's help.

Our 13 is R 3 5 b7 9 13, since the 11 is an avoid note over a major 3; m11 and m13 have the
9, m13 has no 11; 11 is 9sus. Libraries differ here; that is our reading (common practice).
Harte's ``13(b9)`` would keep the natural 9 and the 11, so we write ``7(b9,13)``.

Families: "major", "minor", "dominant", "suspended", "half-diminished", "diminished".
"""

from dataclasses import dataclass
from functools import cache, cached_property

from stackline.theory.chords.degrees import pitch_class

FAMILIES = ("major", "minor", "dominant", "suspended", "half-diminished", "diminished")


@dataclass(frozen=True, kw_only=True)
class XmlDegree:
    """One MusicXML ``<degree>``: type "add", "alter" or "subtract", value, alteration."""

    type: str
    value: int
    alter: int = 0


@dataclass(frozen=True, kw_only=True)
class Quality:
    """A row of the table; see the module's text.

    degrees: texts as `stackline.shared.harmony.Degree` prints them.
    """

    key: str
    family: str
    degrees: tuple[str, ...]
    harte: str
    xml_kind: str
    xml_degrees: tuple[XmlDegree, ...] = ()
    aliases: tuple[str, ...] = ()

    @cached_property
    def intervals(self) -> tuple[int, ...]:
        """Pitch classes above the root, 0..11, in the order of `degrees`."""
        return tuple(pitch_class(degree) for degree in self.degrees)


def _row(key: str, family: str, degrees: str, harte: str, xml: str, aliases: str = "") -> Quality:
    """One row from texts; xml is the kind, then degrees such as ``+9b`` or ``-5``."""
    kind, *marks = xml.split()
    return Quality(
        key=key,
        family=family,
        degrees=tuple(degrees.split()),
        harte=harte,
        xml_kind=kind,
        xml_degrees=tuple(_xml_degree(mark) for mark in marks),
        aliases=tuple(aliases.split()),
    )


def _xml_degree(mark: str) -> XmlDegree:
    """``+9b``: add 9 flat; ``~5b``: alter 5 flat; ``-5``: subtract 5."""
    digits = mark.strip("+~-b#")
    return XmlDegree(
        type={"+": "add", "~": "alter", "-": "subtract"}[mark[0]],
        value=int(digits),
        alter=mark.count("#") - mark.count("b"),
    )


_PLAIN_ROWS = (
    # key, family, degrees, Harte, MusicXML, other spellings
    _row("", "major", "R 3 5", "maj", "major", "maj M major"),
    _row("5", "major", "R 5", "5", "power"),  # neither major nor minor: the bare fifth
    _row("(add9)", "major", "R 3 5 9", "maj(9)", "major +9", "add9 add2 2"),
    _row("6", "major", "R 3 5 6", "maj6", "major-sixth", "maj6 M6"),
    _row("6/9", "major", "R 3 5 6 9", "maj6(9)", "major-sixth +9", "69 6(9) 6add9 maj6/9 M69"),
    _row("6/9(#11)", "major", "R 3 5 6 9 #11", "maj6(9,#11)", "major-sixth +9 +11#", "69(#11)"),
    _row("maj7", "major", "R 3 5 7", "maj7", "major-seventh", "^7 M7 ^ Maj7 ma7 j7 major7"),
    _row("maj9", "major", "R 3 5 7 9", "maj9", "major-ninth", "^9 M9 Maj9 ma9 maj7(9)"),
    _row("maj13", "major", "R 3 5 7 9 13", "maj7(9,13)", "major-13th", "^13 M13 maj9(13)"),
    _row("maj7(13)", "major", "R 3 5 7 13", "maj7(13)", "major-seventh +13", "maj7(6) ^7(13)"),
    _row("maj7(#11,13)", "major", "R 3 5 7 #11 13", "maj7(#11,13)", "major-seventh +11# +13"),
    _row("maj7(#11)", "major", "R 3 5 7 #11", "maj7(#11)", "major-seventh +11#", "^7(#11) M7(#11)"),
    _row("maj9(#11)", "major", "R 3 5 7 9 #11", "maj9(#11)", "major-ninth +11#", "^9(#11) M9(#11)"),
    _row("maj13(#11)", "major", "R 3 5 7 9 #11 13", "maj7(9,#11,13)", "major-13th ~11#"),
    _row("maj7(#5)", "major", "R 3 #5 7", "aug(7)", "major-seventh ~5#", "+maj7 ^7(#5) M7(#5)"),
    _row("+", "major", "R 3 #5", "aug", "augmented", "aug (#5)"),
    _row("m", "minor", "R b3 5", "min", "minor", "- min mi minor"),
    _row("m(add9)", "minor", "R b3 5 9", "min(9)", "minor +9", "madd9 m(9) -add9"),
    _row("m6", "minor", "R b3 5 6", "min6", "minor-sixth", "-6 min6 mi6"),
    _row("m6/9", "minor", "R b3 5 6 9", "min6(9)", "minor-sixth +9", "m69 -6/9 -69 m6(9)"),
    _row("m7", "minor", "R b3 5 b7", "min7", "minor-seventh", "-7 min7 mi7"),
    _row("m9", "minor", "R b3 5 b7 9", "min9", "minor-ninth", "-9 min9 mi9 m7(9)"),
    _row("m11", "minor", "R b3 5 b7 9 11", "min9(11)", "minor-11th", "-11 min11 mi11 m9(11)"),
    _row("m7(11)", "minor", "R b3 5 b7 11", "min7(11)", "minor-seventh +11", "m7(add11) m7(4)"),
    _row("m13", "minor", "R b3 5 b7 9 13", "min9(13)", "minor-13th", "-13 min13 m9(13)"),
    _row("m7(13)", "minor", "R b3 5 b7 13", "min7(13)", "minor-seventh +13", "m7(add13)"),
    _row("m7(b13)", "minor", "R b3 5 b7 b13", "min7(b13)", "minor-seventh +13b", "m7(b6)"),
    _row("mMaj7", "minor", "R b3 5 7", "minmaj7", "major-minor", "m(maj7) mM7 -^7 m^7 mmaj7"),
    _row("mMaj9", "minor", "R b3 5 7 9", "minmaj7(9)", "major-minor +9", "mM9 m(maj9) -^9 m^9"),
    _row("m7b5", "half-diminished", "R b3 b5 b7", "hdim7", "half-diminished",
         "ø ø7 h7 h -7b5 m7(b5) min7b5 -7(b5) mi7b5"),
    _row("m9b5", "half-diminished", "R b3 b5 b7 9", "hdim7(9)", "half-diminished +9",
         "ø9 h9 m9(b5) m7b5(9) -9b5"),
    _row("m11b5", "half-diminished", "R b3 b5 b7 11", "hdim7(11)", "half-diminished +11",
         "ø11 h11 m7b5(11) m11(b5) m7(b5,11)"),
    _row("dim", "diminished", "R b3 b5", "dim", "diminished", "o °"),
    _row("dim7", "diminished", "R b3 b5 bb7", "dim7", "diminished-seventh", "o7 °7"),
    _row("dim7(9)", "diminished", "R b3 b5 bb7 9", "dim7(9)", "diminished-seventh +9", "o9 dim9"),
    _row("dim(maj7)", "diminished", "R b3 b5 7", "dim(7)", "diminished +7#", "o^7 dimM7 dimmaj7"),
    _row("sus4", "suspended", "R 4 5", "sus4", "suspended-fourth", "sus 4"),
    _row("sus2", "suspended", "R 9 5", "sus2", "suspended-second", "5(9)"),
    _row("7sus", "suspended", "R 4 5 b7", "sus4(b7)", "suspended-fourth +7", "7sus4 sus7"),
    _row("9sus", "suspended", "R 4 5 b7 9", "sus4(b7,9)", "suspended-fourth +7 +9", "9sus4 11"),
    _row("13sus", "suspended", "R 4 5 b7 9 13", "sus4(b7,9,13)", "suspended-fourth +7 +9 +13",
         "13sus4"),
    _row("7sus(13)", "suspended", "R 4 5 b7 13", "sus4(b7,13)", "suspended-fourth +7 +13", ""),
    _row("7sus(b9)", "suspended", "R 4 5 b7 b9", "sus4(b7,b9)", "suspended-fourth +7 +9b",
         "7sus4(b9) 7b9sus susb9 sus(b9) 7susb9"),
    _row("13sus(b9)", "suspended", "R 4 5 b7 b9 13", "sus4(b7,b9,13)",
         "suspended-fourth +7 +9b +13", "13sus4(b9) 13b9sus"),
    _row("7", "dominant", "R 3 5 b7", "7", "dominant", "dom7"),
    _row("9", "dominant", "R 3 5 b7 9", "9", "dominant-ninth", "7(9)"),
    _row("13", "dominant", "R 3 5 b7 9 13", "7(9,13)", "dominant-13th", "9(13)"),
    _row("7(13)", "dominant", "R 3 5 b7 13", "7(13)", "dominant +13", "7(add13) 7(6)"),
    _row("7(#5)", "dominant", "R 3 #5 b7", "aug(b7)", "augmented-seventh", "+7 7+ aug7"),
    _row("7(b5)", "dominant", "R 3 b5 b7", "7(b5,*5)", "dominant ~5b", ""),
    _row("9(#5)", "dominant", "R 3 #5 b7 9", "aug(b7,9)", "augmented-seventh +9", "+9 9+"),
    _row("9(b5)", "dominant", "R 3 b5 b7 9", "9(b5,*5)", "dominant-ninth ~5b", ""),
    _row("7alt", "dominant", "R 3 b7 b9 #9 b13", "7(b9,#9,b13)", "dominant +9b +9# +13b",
         "alt 7(alt) 7(b9,#9,b13)"),
)  # fmt: skip


def _altered(base: str, tensions: tuple[str, ...]) -> Quality:
    """A dominant with altered tensions: ``7`` or ``13`` and ``("b9", "#11")``."""
    inside = ",".join(tensions)
    chord = tensions + (("13",) if base == "13" else ()) + (("9",) if base == "9" else ())
    if base == "13" and not any(one in tensions for one in ("b9", "#9")):
        chord += ("9",)
    chord = tuple(sorted(chord, key=lambda one: (int(one.strip("b#")), "b" not in one)))
    return _row(
        f"{base}({inside})", "dominant", "R 3 5 b7 " + " ".join(chord),
        f"7({','.join(chord)})", _altered_xml(base, tensions),
    )  # fmt: skip


def _altered_xml(base: str, tensions: tuple[str, ...]) -> str:
    """Kind and degrees: a tension that the kind has is altered, another one added."""
    kind, has = {
        "7": ("dominant", ()),
        "9": ("dominant-ninth", ("9",)),
        "13": ("dominant-13th", ("9", "11")),
    }[base]
    marks, altered = [], set()
    for one in tensions:
        value = one.strip("b#")
        sign = "~" if value in has and value not in altered else "+"
        altered.add(value)
        marks.append(sign + value + one.rstrip("0123456789"))
    return " ".join([kind, *marks])


_ALTERED_ROWS = tuple(
    _altered(base, nine + eleven + thirteen)
    for base in ("7", "9", "13")
    for nine in ((), ("b9",), ("#9",), ("b9", "#9"))
    for eleven in ((), ("#11",))
    for thirteen in ((), ("b13",))
    if nine + eleven + thirteen
    and not (base == "9" and nine)
    and not (base == "13" and thirteen)
    and (base, nine + eleven + thirteen) != ("7", ("b9", "#9", "b13"))  # that is 7alt
)

QUALITIES: tuple[Quality, ...] = _PLAIN_ROWS + _ALTERED_ROWS


@cache
def by_key() -> dict[str, Quality]:
    """Every quality by its key."""
    return {quality.key: quality for quality in QUALITIES}


def quality(key: str) -> Quality:
    """The row of a key; raises KeyError with the keys that are near for anything else."""
    try:
        return by_key()[key]
    except KeyError:
        raise KeyError(f"no chord quality {key!r}; write m9, 13(b9), maj7 or the like") from None
