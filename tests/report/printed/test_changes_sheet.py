"""The changes as a grid: its data against worked examples, its sheet read back by pypdf."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from stackline.pipeline import transcribe
from stackline.report.contents.changes_grid import changes_grid
from stackline.report.printed import changes_sheet
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint
from stackline.shared.rhythm import NO_RHYTHM
from stackline.shared.take import Take
from stackline.theory.chords.spelling import with_signs
from stackline.theory.reading import read as read_chords
from tests.support.places import ROOT
from tests.support.readers.printed import check_paper, printed_text, read
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take


def symbols(take: Take) -> list[list[str]]:
    """The chords of each bar."""
    return [[one.symbol for one in bar.chords] for bar in changes_grid(take).bars]


def test_the_sample_is_a_lead_sheet_of_seven_bars() -> None:
    """What its own text says: two ii-V-Is, the V of the second struck on the and of four.

    That it belongs to the bar after is common practice (an anticipation).
    """
    assert symbols(sample_take()) == [
        ["E\u266dm9"], ["A\u266d13(\u266d9)"], ["D\u266dmaj13"], [],
        ["Dm9"], ["G7(\u266d9,\u266d13)"], ["Cmaj9"],
    ]  # fmt: skip
    bars = changes_grid(sample_take()).bars
    assert [bar.goes_on for bar in bars] == [False] * 3 + [True] + [False] * 3
    assert bars[1].chords[0].stack == "\u266d7 3 | 13 \u266d9"


def test_brackets_name_cadence_and_key_and_doubt() -> None:
    """ii-V-I in Db and in C (common practice); the second rests on an unsure V."""
    first, second = changes_grid(sample_take()).brackets
    assert (first.label, first.first, first.last) == ("ii-V-I in D\u266d major", (0, 0), (2, 0))
    assert (second.label, second.first, second.last) == ("ii-V-I in C major", (4, 0), (6, 0))
    assert (first.unsure, second.unsure) == (False, True)
    assert first.lane == second.lane == 0


def test_without_bars_chords_stand_at_their_times() -> None:
    """Stretches of four seconds, the chord's place in them its onset's."""
    bars = changes_grid(gridless_take()).bars
    assert [bar.title for bar in bars][:3] == ["0:00.0", "0:04.0", "0:08.0"]
    first = gridless_take().voicings[0].attack.onset_s
    assert bars[0].chords[0].x == pytest.approx(first / 4.0)


def test_a_rhythm_that_is_not_there_is_worked_out() -> None:
    """A take that was kept without one has the same grid."""
    take = sample_take()
    told = read_chords(take.attacks, take.grid, end_s=take.source.duration_s).rhythm
    known = replace(take, rhythm=told)
    unknown = replace(take, rhythm=NO_RHYTHM)
    assert symbols(known) == symbols(unknown)


def test_the_bundled_recording_has_its_changes_in_their_bars() -> None:
    """Roots by bar as the music was written down before it was played (fixtures/warmup.py)."""
    truth = json.loads((ROOT / "fixtures" / "warmup.truth.json").read_text(encoding="utf-8"))
    heard = transcribe(Path(ROOT / "fixtures" / "warmup.m4a"))
    root = re.compile("[A-G][\u266d\u266f]?")
    found = {
        (int(bar.title), match[0])
        for bar in changes_grid(heard).bars
        for chord in bar.chords
        if (match := root.match(chord.symbol))
    }
    written = written_roots(truth)
    assert len(found & written) >= 0.8 * len(written)


def written_roots(truth: dict) -> set[tuple[int, str]]:
    """Bar and root of each chord of the truth."""
    root = re.compile("^[A-G][b#]?")
    return {
        (one["bar"], with_signs(name))
        for one in truth["changes"]
        for name in root.findall(one["chord"])
    }


def test_one_sheet_with_every_chord_and_stack() -> None:
    """A4, tagged; symbols, stacks, cadences with keys and what is unsure are text."""
    document = read(changes_sheet.render(TakeView(sample_take())))
    check_paper(document)
    assert len(document.pages) == 1
    text = printed_text(document)
    for bar in changes_grid(sample_take()).bars:
        for chord in bar.chords:
            assert chord.symbol in text.replace(" ", "")
            assert chord.stack.replace(" ", "") in text.replace(" ", "")
    assert "ii-V-I in D\u266d major" in text
    assert re.search(r"ii-V-I in C major ?\?", text)
    assert re.search(r"G7\(\u266d9,\u266d13\) ?\?", text)


def test_a_long_take_goes_on_to_more_sheets_and_loses_no_bar() -> None:
    """Each bar's number is printed once, in order."""
    take = long_take(400)
    document = read(changes_sheet.render(TakeView(take)))
    assert 1 < len(document.pages) < 8
    text = printed_text(document)
    for number, page in enumerate(document.pages, 1):
        assert f"{number} of {len(document.pages)}" in page.extract_text().replace("\n", " ")
    assert text.count("Cmaj9") == sum(row.count("Cmaj9") for row in symbols(take))


def test_sixty_four_bars_fit_one_sheet() -> None:
    """As long as two choruses of the usual form of 32 bars (common practice)."""
    take = sample_take()
    chord = take.voicings[0]
    position = chord.attack.position
    assert position is not None
    length = 64 * 4
    grid = replace(
        take.grid,
        beats=tuple(
            replace(take.grid.beats[0], time_s=0.5 + i * 0.625, number=i % 4 + 1)
            for i in range(length)
        ),
    )
    again = tuple(
        replace(
            take.voicings[i % 2],
            attack=replace(
                chord.attack,
                onset_s=0.5 + i * 2.5,
                position=replace(position, bar=i + 1),
                struck=tuple(
                    replace(note, onset_s=0.5 + i * 2.5, offset_s=2.5 + i * 2.5)
                    for note in chord.attack.struck
                ),
            ),
        )
        for i in range(64)
    )
    long = replace(
        take,
        grid=grid,
        voicings=again,
        motions=(),
        rhythm=NO_RHYTHM,
        attacks=tuple(one.attack for one in again),
        notes=tuple(note for one in again for note in one.attack.struck),
        source=replace(take.source, duration_s=162.0),
    )
    assert len(changes_grid(long).bars) == 64
    assert len(read(changes_sheet.render(TakeView(long))).pages) == 1


def test_nothing_heard_has_no_changes() -> None:
    """It is told, not printed as an empty sheet."""
    with pytest.raises(Complaint, match="no changes to print"):
        changes_sheet.render(TakeView(empty_take()))
