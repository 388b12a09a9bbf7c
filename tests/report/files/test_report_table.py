"""The text table of a take."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from stackline.report.files.table import render, render_beats
from stackline.report.words.take_view import TakeView
from stackline.shared.notes import Passage
from tests.support.takes.sample_take import empty_take, gridless_take, parallel_take, sample_take

Golden = Callable[[str, str], None]


def test_the_sample_prints_as_its_golden_file(golden: Golden) -> None:
    """At 100 columns, with the notes of each beat."""
    golden("sample.txt", render(TakeView(sample_take()), beats=True))


def test_a_take_without_a_grid_shows_times(golden: Golden) -> None:
    """Places are times and notes are listed attack by attack."""
    golden("gridless.txt", render(TakeView(gridless_take()), width=120, beats=True))


@pytest.mark.parametrize("width", [60, 72, 80, 100, 120])
def test_no_line_is_wider_than_asked(width: int) -> None:
    """The table fits its terminal and loses no symbol or stack on the way."""
    text = render(TakeView(sample_take()), width=width)
    assert max(len(line) for line in text.splitlines()) <= width
    assert "G7(b9,b13)" in text
    assert "b7 3 | 13 b9" in text


def test_unsure_rows_carry_a_sign_and_a_word() -> None:
    """Only the doubtful voicing is marked, at its start and in words at its end."""
    lines = render(TakeView(sample_take()), width=120).splitlines()
    marked = [line for line in lines if line.startswith("?")]
    assert len(marked) == 1
    assert "5.4&" in marked[0]
    assert "notes, name?" in marked[0]
    assert "Unsure: 1 of 6 voicings, marked ?." in lines


def test_resolutions_are_counted_of_what_was_due() -> None:
    """Seven of the sample's eight landed, and what came instead is told."""
    text = render(TakeView(sample_take()))
    assert "Resolutions: 7 of 8 due landed (2 in another octave)." in text
    assert "  4 of the 8 rest on an unsure voicing." in text.splitlines()
    assert "2.1: b9 of Ab13(b9) did not land; it went up to the 13 (Bb4) of Dbmaj13." in text


def test_a_take_without_dominants_says_that_nothing_was_due() -> None:
    """No rate without a denominator."""
    take = sample_take()
    still = tuple(replace(motion, resolutions=()) for motion in take.motions)
    assert "none was due" in render(TakeView(replace(take, motions=still)))


def test_parallel_movement_is_named() -> None:
    """A side-slip is shown as movement."""
    assert "side-slip +1" in render(TakeView(parallel_take()), width=160)


def test_nothing_heard_is_said_plainly() -> None:
    """An empty take gives a sentence, not an empty table."""
    assert "No voicings were heard in this recording." in render(TakeView(empty_take()))


def test_a_name_cannot_write_to_the_terminal() -> None:
    """Escape sequences, line breaks and layout markup in a file name stay harmless text."""
    text = render(TakeView(sample_take("\x1b[31mred\n[bold]x[/bold].wav")))
    assert "\x1b" not in text
    assert "[bold]x[/bold].wav" in text.splitlines()[0]


def test_the_output_is_ascii() -> None:
    """Any terminal can show it."""
    assert render(TakeView(sample_take()), beats=True).isascii()


def test_notes_per_beat_follow_the_grid() -> None:
    """The low root that no voicing holds stands in its beat, by name."""
    lines = render_beats(TakeView(sample_take())).splitlines()
    second = next(line for line in lines if line.startswith("2 "))
    assert second.split() == ["2", "Gb3", "C4", "F4", "Bbb4", "-", "Ab1", "-"]


def test_at_eighty_columns_most_rows_are_one_line() -> None:
    """Nothing is broken inside a word, and only what landed takes a second line."""
    lines = render(TakeView(sample_take()), width=80).splitlines()
    rows = lines[4 : lines.index("", 4)]
    assert len(rows) <= 2 * len(sample_take().voicings)
    assert "rootless" in rows[0]


def test_a_recording_that_breaks_off_says_so() -> None:
    """Before the rows, with the moment."""
    take = sample_take()
    assert "breaks off" not in render(TakeView(take))
    cut = replace(take, source=replace(take.source, broken_off_s=18.25))
    words = "The recording breaks off at 0:18.2: its file is cut or damaged"
    assert words in render(TakeView(cut))
    assert render(TakeView(cut)).index(words) < render(TakeView(cut)).index("symbol")


def test_damage_inside_a_recording_is_reported_with_its_places() -> None:
    """Before the rows: where, how much in all, and that the rest keeps its time."""
    take = sample_take()
    spoilt = tuple(Passage(start_s=at, end_s=at + 0.5) for at in (2.0, 8.0, 65.0, 70.0, 80.0))
    damaged = replace(take, source=replace(take.source, unread=spoilt[:1]))
    text = " ".join(render(TakeView(damaged)).split())
    assert "nothing could be heard from 0:02.0 to 0:02.5 (0.5 s); what follows keeps its" in text
    damaged = replace(take, source=replace(take.source, unread=spoilt, broken_off_s=90.0))
    text = " ".join(render(TakeView(damaged)).split())
    assert "0:08.0 to 0:08.5, 1:05.0 to 1:05.5 and 2 more (2.5 s)" in text
    assert "breaks off at 1:30.0" in text
