"""Forms under anticipated comping: laid on their own beats, and the counting is not blind."""

import random
from dataclasses import replace

from bench.harmony import laid
from stackline.theory.sheet.changes import place_chords

FORM = [
    ("Dm7", 4),
    ("G7", 4),
    ("Cmaj7", 8),
    ("Fm7", 4),
    ("Bb7", 4),
    ("Ebmaj7", 4),
    ("Dm7", 2),
    ("G7", 2),
]


def test_a_form_is_laid_right() -> None:
    """Two choruses, every way of counting."""
    for grid in (*laid.GRIDS, laid.PATTERNS):
        tally = laid.Tally()
        tally.count(laid.comped(FORM, "rootless", random.Random(5), grid))
        assert tally.laid == tally.takes == 1


def test_a_slid_form_is_not_counted_as_right() -> None:
    """The same take against a clock that is a beat out: no chord begins where it should."""
    take = laid.comped(FORM, "rootless", random.Random(5), "told")
    tally = laid.Tally()
    tally.count(replace(take, zero_s=take.zero_s + take.beat_s))
    assert tally.right == 0


def test_changes_are_written_in_bars() -> None:
    """A chord over a bar line is written again; odd lengths are kept by beat signs."""
    changes = laid.as_changes([("C", 6), ("F", 2), ("G7", 3), ("C", 1)])
    lengths = [one.beats for one in place_chords(changes, 4)]
    assert lengths == [4, 2, 2, 3, 1]
