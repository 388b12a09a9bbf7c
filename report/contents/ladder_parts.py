"""Voicing by voicing as the page shows it: repeats drawn once with a count, long takes in parts.

A rung is a row of `page_rows` that may stand for several voicings in a row, struck again as they
were: the same keys under the same symbol, nothing due between them. A take of more than
`UNFOLDED` rungs falls into parts of `BARS` bars, or of `PLAIN` rungs where there are no bars; the
first `PLAIN` rungs are a part of their own, and open.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from stackline.report.contents.page_rows import Row
from stackline.report.words.page_text import prose
from stackline.shared.take import Take
from stackline.theory.chords.spelling import with_signs

UNFOLDED = 48
BARS, PLAIN = 16, 24
UNSURE, MISSED = "unsure", "missed"  # what a reader may pick out besides kinds and chords


@dataclass(frozen=True, kw_only=True)
class Rung:
    """row: of the first voicing, with the motion that leads on from the last.

    spans: JSON list of [start, end] in seconds, one a voicing. others: number and place of those
    that are not drawn again. kinds: what the rung is found by, words with spaces between.
    """

    row: Row
    spans: str
    others: tuple[tuple[int, str], ...]
    kinds: str

    @property
    def count(self) -> int:
        """How many voicings the rung stands for."""
        return 1 + len(self.others)


@dataclass(frozen=True, kw_only=True)
class Part:
    """Rungs under one heading; heading: empty where the take is shown whole."""

    heading: str
    rungs: tuple[Rung, ...]
    is_open: bool


@dataclass(frozen=True, kw_only=True)
class Choice:
    """What rungs can be picked out by: a word of their `kinds`, and what it is called."""

    word: str
    label: str


def ladder_parts(take: Take, rows: Sequence[Row]) -> list[Part]:
    """The rungs of a take in parts. rows: one a voicing, in order."""
    rungs = _rungs(take, rows)
    if len(rungs) <= UNFOLDED:
        return [Part(heading="", rungs=tuple(rungs), is_open=True)] if rungs else []
    numbered = list(enumerate(rungs))
    grouped = [
        [rung for _, rung in group]
        for _, group in groupby(numbered, key=lambda one: _part_number(take, *one))
    ]
    return [
        Part(heading=_heading(take, part), rungs=tuple(part), is_open=number == 0)
        for number, part in enumerate(grouped)
    ]


def choices(take: Take) -> list[Choice]:
    """What a reader may pick out, the doubtful and the missed first, then kinds and chords."""
    found = [Choice(word=UNSURE, label="unsure"), Choice(word=MISSED, label="did not land")]
    for letter, names in zip("kc", _names(take), strict=True):
        found += [
            Choice(
                word=f"{letter}{index}", label=prose(name) if letter == "k" else with_signs(name)
            )
            for name, index in sorted(names.items())
        ]
    return found


def _names(take: Take) -> tuple[dict[str, int], dict[str, int]]:
    """Numbers of the primary structures and of the chord symbols of a take."""
    kinds = sorted({voicing.structures[0] for voicing in take.voicings if voicing.structures})
    chords = sorted({voicing.chord.symbol.text for voicing in take.voicings})
    return {name: i for i, name in enumerate(kinds)}, {name: i for i, name in enumerate(chords)}


def _rungs(take: Take, rows: Sequence[Row]) -> list[Rung]:
    kinds, chords = _names(take)
    made = []
    for _, group in groupby(_marked(rows), key=lambda one: one[0]):
        inside = [row for _, row in group]
        first, last = inside[0], inside[-1]
        voicing = take.voicings[first.number - 1]
        words = [f"c{chords[voicing.chord.symbol.text]}"]
        words += [f"k{kinds[voicing.structures[0]]}"] if voicing.structures else []
        words += [UNSURE] if first.doubt else []
        words += [MISSED] if any(not one.arrived for one in last.resolved) else []
        made.append(
            Rung(
                row=replace(first, motion=last.motion, parallel=last.parallel,
                            resolved=last.resolved, lines=last.lines),
                spans=json.dumps([[float(row.start), float(row.end)] for row in inside]),
                others=tuple((row.number, row.place) for row in inside[1:]),
                kinds=" ".join(words),
            )
        )  # fmt: skip
    return made


def _marked(rows: Sequence[Row]) -> list[tuple[int, Row]]:
    """Each row with the number of its rung."""
    marked, number = [], 0
    for i, row in enumerate(rows):
        if i and not _is_again(rows[i - 1], row):
            number += 1
        marked.append((number, row))
    return marked


def _is_again(before: Row, row: Row) -> bool:
    """Whether a row shows nothing that the one before it did not."""
    if before.resolved or before.parallel:
        return False
    same = ("symbol", "stack", "markers", "doubt", "why", "explained", "warnings", "other")
    return all(getattr(before, name) == getattr(row, name) for name in same)


def _bar(take: Take, rung: Rung) -> int | None:
    position = take.voicings[rung.row.number - 1].attack.position
    return position.bar if position else None


def _part_number(take: Take, index: int, rung: Rung) -> int:
    """Which part a rung belongs to: the first ones by count, then by bars where there are beats."""
    if not take.grid.beats or index < PLAIN:
        return index // PLAIN
    number = rung.row.number - 1
    while number and take.voicings[number].attack.position is None:
        number -= 1
    position = take.voicings[number].attack.position
    return 1 + (max(position.bar - 1, 0) // BARS if position else 0)


def _heading(take: Take, part: Sequence[Rung]) -> str:
    """Where a part stands and how many voicings it has."""
    bars = [bar for bar in (_bar(take, rung) for rung in part) if bar is not None]
    count = sum(rung.count for rung in part)
    voicings = "1 voicing" if count == 1 else f"{count} voicings"
    if not bars:
        return f"From {part[0].row.place}: {voicings}"
    where = f"Bar {bars[0]}" if bars[0] == bars[-1] else f"Bars {bars[0]} to {bars[-1]}"
    return f"{where}: {voicings}"
