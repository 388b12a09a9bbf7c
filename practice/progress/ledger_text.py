"""The ledger as text and as data: degrees down, twelve keys across, misses one by one."""

from collections.abc import Sequence
from typing import Any

from stackline.practice.columns import columns, plural
from stackline.practice.progress.ledger import Cell, Ledger, Miss
from stackline.practice.progress.quality_habits import QualityHabit
from stackline.practice.review.reviewing import CIRCLE
from stackline.practice.targets.numerals import key_name
from stackline.report.words.marks import one_line
from stackline.shared.units import clock
from stackline.theory.chords.note_names import note_name

MOST_MISSES = 30  # in the table for the terminal; JSON has all
MOST_SHOWN = 3  # of each habit


def render(found: Ledger, habits: Sequence[QualityHabit], *, misses: bool) -> str:
    """The table, the misses if wanted, and the habits; ends in a newline."""
    if not found.cells:
        left = f" {plural(found.unsure, 'unsure one')} left out." if found.unsure else ""
        return f"Nothing that was due to resolve is kept yet.{left}\n"
    parts = [_table(found)]
    if found.unsure:
        parts.append(f"{plural(found.unsure, 'resolution')} between unsure voicings left out.\n")
    if misses:
        parts.append(_misses(found.misses))
    parts += [_habit(one) for one in habits]
    return "\n".join(parts)


def _table(found: Ledger) -> str:
    """Landed of due; a degree's top voice and inner voices are parted at the end of its row."""
    keys = [key for key in CIRCLE if any(one.key == key for one in found.cells)]
    degrees = list(dict.fromkeys(one.degree for one in found.cells))
    heads = ["due", *(key_name(key) for key in keys), "on top", "inside"]
    rows = []
    for degree in degrees:
        own = [one for one in found.cells if one.degree == degree]
        by_key = {one.key: one for one in own}
        cells = [_of(by_key[key]) if key in by_key else "" for key in keys]
        rows.append([degree, *cells, *_parts(own)])
    return columns(heads, rows)


def _of(cell: Cell) -> str:
    return f"{cell.landed}/{cell.due}"


def _parts(own: Sequence[Cell]) -> list[str]:
    top = sum(one.landed_top for one in own), sum(one.due_top for one in own)
    inner = sum(one.landed_inner for one in own), sum(one.due_inner for one in own)
    return [f"{landed} of {due}" if due else "" for landed, due in (top, inner)]


def _misses(found: Sequence[Miss]) -> str:
    if not found:
        return "Everything landed.\n"
    rows = [
        (one_line(one.take), one.played_on, clock(one.onset_s), f"{one.symbol} > {one.following}",
         f"{one.degree}{' on top' if one.is_top else ''}", came_words(one))
        for one in found[:MOST_MISSES]
    ]  # fmt: skip
    table = columns(("take", "played", "at", "chords", "due", "came instead"), rows)
    more = len(found) - MOST_MISSES
    return table + (f"{more} more; --json has all.\n" if more > 0 else "")


def came_words(one: Miss) -> str:
    """What a note did in place of landing."""
    if one.outcome == "held":
        return "it was held"
    return f"the {one.came}" if one.came else "its voice stopped"


def _habit(one: QualityHabit) -> str:
    name = one.quality or "major triads"
    return (
        f"{name}, {one.cases} times: on top {_shares(one.tops, one.cases)}; at the bottom "
        f"{_shares(one.bottoms, one.cases)}; {_shares(one.structures, one.cases)}; "
        f"{note_name(one.lowest)} to {note_name(one.highest)} in the middle case.\n"
    )


def _shares(counted: Sequence[tuple[str, int]], cases: int) -> str:
    return ", ".join(f"{name} {count / cases:.0%}" for name, count in counted[:MOST_SHOWN])


def to_data(found: Ledger, habits: Sequence[QualityHabit]) -> dict[str, Any]:
    """As data for JSON, format 1."""
    return {
        "format": 1,
        "cells": [
            {"degree": one.degree, "key": key_name(one.key), "due": one.due, "landed": one.landed,
             "top": {"due": one.due_top, "landed": one.landed_top},
             "inner": {"due": one.due_inner, "landed": one.landed_inner}}
            for one in found.cells
        ],
        "unsure": found.unsure,
        "misses": [
            {"take": one.take_id, "name": one.take, "played_on": one.played_on,
             "onset_s": one.onset_s, "symbol": one.symbol, "following": one.following,
             "degree": one.degree, "key": key_name(one.key), "on_top": one.is_top,
             "outcome": one.outcome, "came": one.came}
            for one in found.misses
        ],
        "habits": [
            {"quality": one.quality, "cases": one.cases, "tops": dict(one.tops),
             "bottoms": dict(one.bottoms), "structures": dict(one.structures),
             "lowest": one.lowest, "highest": one.highest}
            for one in habits
        ],
    }  # fmt: skip
