"""A take as a plain text table for the terminal.

Columns, fewer of them on a narrow terminal: place (bar.beat, or time without a beat grid),
symbol, degree stack low to high with the hands parted by ``|``, structure, top note and its
degree, motion from the voicing before, and how sure the reading is. Everything is ASCII apart
from names that came from outside, and nothing depends on colour: a row that is unsure starts
with ``?`` and says in words what is unsure. Lines below the table sum up the resolutions.
"""

import io
import textwrap

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from stackline.report.contents.beat_table import beat_table
from stackline.report.words.marks import (
    UNSURE_SIGN,
    asides,
    doubts,
    instead,
    one_line,
    percent,
    signed,
    stack_and_line,
)
from stackline.report.words.summary import damage, leaning
from stackline.report.words.take_view import TakeView
from stackline.report.words.time_words import time_lines
from stackline.shared.harmony import Motion, Voicing
from stackline.shared.units import clock
from stackline.theory.motion.tally import ARRIVED

NARROWEST, WIDEST = 60, 160  # columns (ours)
ROOMY = 100  # columns from which every structure and doubt is written, below it the primary one
FULL = 80  # columns from which all of `HEADS` stand; below it the widest two are left out
HEADS = ("at", "symbol", "stack", "structure", "top", "motion", "sure")
LEFT_OUT_FIRST = ("structure", "motion")
ROOM_FOR_STACK = 22  # columns: most stacks stay on one line even at 80
UNBROKEN = ("at", "bar", "symbol", "top")
RULED = box.Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)  # one rule, no bars


def render(view: TakeView, *, width: int = 100, beats: bool = False) -> str:
    """The take as text, `width` columns wide (held within 60..160), ending in a newline.

    beats: add the notes of each beat as a second table.
    """
    take, width = view.take, min(max(width, NARROWEST), WIDEST)
    parts = [_filled([_heading(view)], width)]
    if spoiled := damage(take.source):
        parts.append(_filled([spoiled], width))
    if take.voicings:
        parts += [_layout(_voicing_table(view, width), width), _filled(_closing(view), width)]
    else:
        parts.append("No voicings were heard in this recording.\n")
    if lines := time_lines(view):
        parts.append(_filled(lines, width))
    if beats:
        parts.append(render_beats(view, width=width))
    return "\n".join(parts)


def render_beats(view: TakeView, *, width: int = 100) -> str:
    """The notes struck in each beat, a bar a row; without a beat grid, attack by attack."""
    take, names = view.take, view.names
    if not take.grid.beats:
        table = _table("at", "notes struck")
        for attack in take.attacks:
            table.add_row(Text(clock(attack.onset_s)), Text(names.row(attack.struck)))
        return f"Notes per attack (no steady beat was found)\n{_layout(table, width)}"
    last = max(beat.number for beat in take.grid.beats)
    table = _table("bar", *(f"beat {number}" for number in range(1, last + 1)))
    for row in beat_table(take, last):
        words = (names.row(notes) or "-" if notes is not None else "" for notes in row.cells)
        table.add_row(Text(row.title), *(Text(one_line(word)) for word in words))
    return f"Notes per beat\n{_layout(table, width)}"


def _heading(view: TakeView) -> str:
    take, grid = view.take, view.take.grid
    tempo = f"{grid.tempo_bpm:.0f} beats a minute" if grid.tempo_bpm else "no steady beat"
    count = f"{len(take.voicings)} voicing{'' if len(take.voicings) == 1 else 's'}"
    if grid.tempo_bpm and grid.is_uncertain:
        tempo = f"perhaps {tempo}"
    if grid.tempo_bpm and view.places.swung:
        tempo += ", swung"
    return (
        f"{one_line(take.source.name)}  {clock(take.source.duration_s)}, {tempo}, "
        f"{count}, ear: {one_line(take.ear)}"
    )


def _table(*columns: str) -> Table:
    table = Table(box=RULED, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for column in columns:
        table.add_column(column, no_wrap=column in UNBROKEN, overflow="fold")
    return table


def _layout(table: Table, width: int) -> str:
    out = io.StringIO()
    Console(file=out, width=width, color_system=None, emoji=False, highlight=False).print(table)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def _voicing_table(view: TakeView, width: int) -> Table:
    heads = [head for head in HEADS if width >= FULL or head not in LEFT_OUT_FIRST]
    table = _table(*heads)
    longest = max(len(stack_and_line(voicing)) for voicing in view.take.voicings)
    table.columns[2].no_wrap = longest <= ROOM_FOR_STACK
    for i, voicing in enumerate(view.take.voicings):
        mark = UNSURE_SIGN if i in view.unsure else " "
        cells = {
            "at": f"{mark} {view.places.short(voicing.attack)}",
            "symbol": voicing.chord.symbol.text,
            "stack": stack_and_line(voicing),
            "structure": _structure(voicing, width),
            "top": f"{voicing.top.name} {voicing.top.degree}",
            "sure": _sure(voicing) if width >= ROOMY else _chance(voicing),
        }
        texts = {head: Text(one_line(cell)) for head, cell in cells.items()}
        texts["motion"] = Text("\n".join(_motion_lines(view.into.get(i))))
        table.add_row(*(texts[head] for head in heads))
    return table


def _structure(voicing: Voicing, width: int) -> str:
    """Every structure where there is room, else the first word of the primary one."""
    if width >= ROOMY:
        return ", ".join(voicing.structures)
    return voicing.structures[0].split(",")[0] if voicing.structures else ""


def _motion_lines(motion: Motion | None) -> list[str]:
    """Top line and parallel movement in a few words; below them what landed."""
    if motion is None:
        return ["-"]
    moved = f"{motion.top.kind} {signed(motion.top.semitones)}" if motion.top.semitones else "stays"
    lines = [f"top {moved}"]
    if motion.parallel is not None:
        lines[0] += f", {motion.parallel.kind} {signed(motion.parallel.semitones)}"
    if motion.resolutions:
        landed = sum(one.outcome in ARRIVED for one in motion.resolutions)
        lines.append(f"{landed} of {len(motion.resolutions)} landed")
    return lines


def _chance(voicing: Voicing) -> str:
    """The weaker of the two chances."""
    return percent(min(voicing.confidence, voicing.chord.confidence))


def _sure(voicing: Voicing) -> str:
    """The weaker of the two chances, and where it is low what is doubtful: ``54% notes?``."""
    weaker = _chance(voicing)
    found = doubts(voicing)
    return f"{weaker} {', '.join(found)}{UNSURE_SIGN}" if found else weaker


def _filled(lines: list[str], width: int) -> str:
    """Sentences, each beginning a line; what goes on below is set in."""
    return "".join(
        textwrap.fill(line, width, subsequent_indent="  " if line[:1] != " " else "    ") + "\n"
        for line in lines
    )


def _closing(view: TakeView) -> list[str]:
    """What landed, what came instead, how much is unsure."""
    take, overall = view.take, view.tally.overall
    if overall.due:
        lines = [f"Resolutions: {overall.landed} of {overall.due} due landed{asides(overall)}."]
    else:
        lines = ["Resolutions: none was due (no dominant moved on by a fifth or a semitone)."]
    for motion, one in view.missed:
        place = view.places.short(take.voicings[motion.from_index].attack)
        lines.append(f"  {place}: {instead(take, motion, one)}.")
    doubt = leaning(view)
    lines += [f"  {doubt}"] if doubt else []
    if view.unsure:
        lines.append(
            f"Unsure: {len(view.unsure)} of {len(take.voicings)} voicings, marked {UNSURE_SIGN}."
        )
    return [one_line(line) for line in lines]
