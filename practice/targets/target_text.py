"""A target as a player types it on one line.

    changes  "Dm9 | G13(b9) | C6/9"          chords in bars, as `changes` reads them
    numerals "IIm9 | V13(b9) | I6/9"          the same as degrees of a key
    stacks   "b7 9 3 13 > 3 5 7 9"            voicings low to high, ``>`` between them
    both     "IIm9: b3 5 b7 9 > V13: b7 9 3 13 > Imaj9: 3 5 7 9"

Stacks without chords are read as the circle of fifths: each root a fourth above the one
before, the last one the tonic (or, where it is a dominant, the V). The quality is then the
smallest of the table that has all degrees of the stack. ``%``, a repeated chord and N.C.
lengthen the chord before. Chords without any bar line are one chord a bar.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from stackline.practice.targets.numerals import read_key
from stackline.practice.targets.stack import Stack, read_degree, read_stack, stack_text
from stackline.practice.targets.targets import DOMINANTS, Target, TargetChord
from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol, Degree
from stackline.theory.chords.qualities import QUALITIES, quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.sheet.changes import place_chords, place_pickup
from stackline.theory.sheet.changes_text import parse_changes, speaks_in_numerals

BEATS_IN_BAR = 4  # common practice
MOST_CHORDS = 256  # the longest forms have about as many bars (ours)


def parse_target(text: str, *, key: str | None = None, name: str = "typed") -> Target:
    """Read a line of chords, numerals or stacks; raises Complaint where it cannot be read.

    key: the tonic that chord symbols are counted from; without it, it follows from the
    last chord: itself if major or minor, a fifth below it if a dominant.
    """
    if ">" in text or _is_stack(text):
        return Target(name=name, chords=_few_enough(_parse_stacks(text, key)))
    return Target(name=name, chords=_few_enough(parse_chords(text, key=key)))


def _few_enough(chords: tuple[TargetChord, ...]) -> tuple[TargetChord, ...]:
    if len(chords) > MOST_CHORDS:
        raise Complaint(
            f"a target of {len(chords)} chords: give up to {MOST_CHORDS}, one time through"
        )
    return chords


def parse_chords(
    text: str, *, key: str | None = None, stacks: Sequence[str] = (), tops: Sequence[str] = ()
) -> tuple[TargetChord, ...]:
    """Chords in bars, and optionally a stack and a top degree for each.

    Raises Complaint when the counts differ or a degree cannot be read.
    """
    changes = parse_changes(text, tonic="C" if speaks_in_numerals(text) else None)
    beats = changes.beats_per_bar or BEATS_IN_BAR
    held: list[tuple[ChordSymbol, Fraction]] = []
    for placed in (*place_pickup(changes, beats), *place_chords(changes, beats)):
        if held and (placed.symbol is None or placed.symbol == held[-1][0]):
            held[-1] = (held[-1][0], held[-1][1] + placed.beats)
        elif placed.symbol is not None:
            held.append((placed.symbol, placed.beats))
    if not held:
        raise Complaint("the target has no chords: write for example IIm9 | V13 | Imaj9")
    _same_count("stacks", stacks, len(held))
    _same_count("top degrees", tops, len(held))
    tonic = 0 if speaks_in_numerals(text) else read_key(key) if key else _tonic(held[-1][0])
    return tuple(
        _chord(symbol, beats, tonic, stacks[i] if stacks else "", tops[i] if tops else "")
        for i, (symbol, beats) in enumerate(held)
    )


def home_key(text: str, key: str | None = None) -> int:
    """The pitch class of the tonic that a line of chords stands in as written.

    key: what the player says of it. Numerals and stacks without one stand in C.
    """
    if key:
        return read_key(key)
    if ">" in text or _is_stack(text) or speaks_in_numerals(text):
        return 0
    return _tonic([chord for chord in parse_changes(text).chords if chord][-1])


def in_bars(text: str) -> str:
    """Changes without any bar line as one chord a bar; others as they are."""
    words = text.split()
    return text if "|" in text or len(words) < 2 else " | ".join(words)


def _same_count(what: str, given: Sequence[str], chords: int) -> None:
    if given and len(given) != chords:
        raise Complaint(f"{len(given)} {what} for {chords} chords: give one for each, or none")


def _chord(symbol: ChordSymbol, beats: Fraction, tonic: int, stack: str, top: str) -> TargetChord:
    notes = () if stack.strip() in ("", "*") else read_stack(stack)
    key = symbol.quality
    if notes and not _names(notes) <= set(quality(key).degrees) and key in ("", "m"):
        key = quality_of(notes)  # a bare numeral: the stack says what stands on it
    return TargetChord(
        offset=(pitch_class_of(symbol.root) - tonic) % 12,
        quality=key,
        beats=beats,
        stack=notes,
        top=read_degree(top) if top else None,
    )


def _tonic(last: ChordSymbol) -> int:
    """The key that a progression ends in (common practice)."""
    root = pitch_class_of(last.root)
    return (root + 5) % 12 if quality(last.quality).family in DOMINANTS else root


def _is_stack(text: str) -> bool:
    """One stack alone: its first word is a degree."""
    first = text.split(":")[-1].split()
    try:
        return bool(first) and bool(Degree.parse(first[0].rstrip("'")))
    except ValueError:
        return False


def _parse_stacks(text: str, key: str | None) -> tuple[TargetChord, ...]:
    parts = [part.strip() for part in text.split(">")]
    if not all(parts):
        raise Complaint(
            "a stack is empty: write degrees on both sides of each >, b7 9 3 13 > 3 5 7 9"
        )
    pairs = [part.rpartition(":") for part in parts]
    names = [chord.strip() for chord, _, _ in pairs]
    stacks = [stack.strip() for _, _, stack in pairs]
    if all(names):
        return parse_chords(" | ".join(names), key=key, stacks=stacks)
    if any(names):
        raise Complaint(
            "some stacks have a chord before a colon and some have none: name all, or none"
        )
    return _along_the_circle([read_stack(stack) for stack in stacks])


def _along_the_circle(stacks: Sequence[Stack]) -> tuple[TargetChord, ...]:
    chords = [TargetChord(offset=0, quality=quality_of(one), stack=one) for one in stacks]
    last = 7 if chords[-1].row.family in DOMINANTS else 0
    count = len(chords)
    return tuple(
        replace(chord, offset=(last - 5 * (count - 1 - i)) % 12) for i, chord in enumerate(chords)
    )


def quality_of(stack: Stack) -> str:
    """The smallest quality that has every degree of a stack; earlier rows win ties.

    A 3 with a b7 is a dominant, a b3 with a b7 a minor seventh chord, and so on: what the
    degrees' names say. Raises Complaint when no chord of the table has them all.
    """
    wanted = _names(stack)
    fitting = [row for row in QUALITIES if wanted <= set(row.degrees)]
    if not fitting:
        raise Complaint(
            f"no chord of the table has the degrees {stack_text(stack)}; "
            "put its chord before a colon, V7alt: b7 3 b13 #9"
        )
    return min(fitting, key=lambda row: len(row.degrees)).key


def _names(stack: Stack) -> set[str]:
    return {str(one.degree) for one in stack}
