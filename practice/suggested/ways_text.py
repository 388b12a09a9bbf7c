"""Ways as plain text: each chord with its stack and notes, hands parted, and a line to drill."""

from collections.abc import Sequence

from stackline.practice.drills.drill_text import hands
from stackline.practice.suggested.suggestions import Suggestion
from stackline.practice.targets.numerals import key_name
from stackline.practice.targets.stack import stack_text
from stackline.report.words.marks import one_line

CARE = "Try them slowly. A reach that does not fall under the hand is rolled or loses a note."


def render(ways: Sequence[Suggestion], name: str) -> str:
    """One block a way, ending in a newline."""
    head = f"{one_line(name)}: {len(ways)} ways, those of one family together"
    return "\n".join([head, "", *(_block(way) for way in ways), CARE]) + "\n"


def title(way: Suggestion) -> str:
    """What kind of way it is: ``rootless, each voice moves 0.9 half steps on average``."""
    name = way.family
    if way.variant is not None:
        where = way.target.chords[way.variant.at].symbol(way.key).text
        name = f"{way.variant.name}, {where}: {name}"
    return f"{name}, each voice moves {way.moved:.1f} half steps on average"


def drill_line(way: Suggestion) -> str:
    """The way as ``--changes`` of other commands reads it."""
    parts = (f"{one.name()}: {stack_text(one.stack)}" for one in way.target.chords)
    return " > ".join(parts)


def _block(way: Suggestion) -> str:
    chords = way.target.chords
    rows = [
        (one.symbol(way.key).text, " ".join(map(str, one.degrees)), hands(one, way.key, pitches))
        for one, pitches in zip(chords, way.pitches, strict=True)
    ]
    widths = [max(len(row[i]) for row in rows) for i in (0, 1)]
    lines = [
        f"  {symbol:<{widths[0]}}  {stack:<{widths[1]}}  {notes}" for symbol, stack, notes in rows
    ]
    tops = " ".join(str(one.degrees[-1]) for one in chords)
    key = key_name(way.key, minor=way.target.minor)
    drill = f'  stackline drill --key {key} --changes "{drill_line(way)}"'
    return "\n".join([f"{title(way)}, top line {tops}", *lines, drill, ""])
