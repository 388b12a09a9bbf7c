"""Laws that hold for the score of any take."""

from collections import Counter
from fractions import Fraction

from stackline.report.score.score_layout import lay_out
from stackline.report.score.score_model import Bar, Head, Item, Score
from stackline.shared.take import Take

LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


SHARPS = "FCGDAEB"


def items(score: Score) -> list[tuple[Fraction, int, Item]]:
    """(beats from the first bar, staff, item) of a whole score."""
    found, start = [], Fraction(0)
    for bar in score.bars:
        found += [(start + item.start, line.staff, item) for line in bar.lines
                  for item in line.items]  # fmt: skip
        start += bar.length
    return found


def starts(score: Score) -> list[tuple[Fraction, int]]:
    """(beats from the first bar, pitch) of every struck note, tied pieces left out."""
    return sorted(
        (start, head.midi)
        for start, _, item in items(score)
        for head in item.heads
        if not head.tied_in
    )


def as_read(bar: Bar) -> list[tuple[Head, int | None]]:
    """Heads of a bar with the alteration that a player reads.

    The rule of notation textbooks: the signature holds for a letter, a sign for its line or
    space until the bar ends; a tied note keeps its pitch (None: not read anew).
    """
    signed = {}
    for letter in "CDEFGAB":
        sharp = SHARPS.index(letter) < bar.fifths
        flat = SHARPS[::-1].index(letter) < -bar.fifths
        signed[letter] = 1 if sharp else -1 if flat else 0
    memory: dict[tuple[int, str, int], int] = {}
    found: list[tuple[Head, int | None]] = []
    rows = sorted(
        ((item.start, line.staff, item) for line in bar.lines for item in line.items),
        key=lambda row: (row[0], row[1]),
    )
    for _, staff, item in rows:
        for head in item.heads:
            if head.tied_in:
                found.append((head, None))
                continue
            key = (staff, head.step, head.octave)
            if head.accidental:
                memory[key] = head.alter
            found.append((head, memory.get(key, signed[head.step])))
    return found


def check_laws(take: Take) -> None:
    """What holds for every score."""
    score = lay_out(take)
    struck_notes = Counter(note.midi for attack in take.attacks for note in attack.struck)
    assert Counter(midi for _, midi in starts(score)) == struck_notes
    for bar in score.bars:
        for line in bar.lines:
            assert line.items[0].start == 0
            assert line.items[-1].end == bar.length
            assert all(a.end == b.start for a, b in zip(line.items, line.items[1:], strict=False))
        for head, alter in as_read(bar):
            assert 12 * (head.octave + 1) + LETTERS[head.step] + head.alter == head.midi
            assert alter is None or alter == head.alter
    check_ties(score)


def check_ties(score: Score) -> None:
    """Every tie that leaves a head arrives at the same note, on its staff, where it ends."""
    leaving: dict[int, tuple[Fraction, int, Head]] = {}
    for start, staff, item in sorted(items(score), key=lambda row: row[0]):
        for head in item.heads:
            if head.tied_in:
                end, on, before = leaving.pop(head.number)
                assert (end, on) == (start, staff)
                assert (before.midi, before.step, before.top) == (head.midi, head.step, head.top)
            if head.tied_out:
                leaving[head.number] = (start + item.length, staff, head)
    assert not leaving
