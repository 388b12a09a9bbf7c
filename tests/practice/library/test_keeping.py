"""Keeping: dates and notes that can be changed, times as printed, half a name; kill -9."""

import datetime
import json
import multiprocessing
import os
import random
import time
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.options.clock_time import CLOCK_TIME
from stackline.practice.library.backup import back_up, restore
from stackline.practice.library.corrections import Correction
from stackline.practice.library.library import Library
from stackline.practice.library.searching import Query, search
from stackline.practice.targets.target_text import in_bars, parse_target
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of

II, V, I = TWO_FIVE  # noqa: E741
TARGET = parse_target(TARGET_TEXT, name="study")
TOMORROW = (datetime.date.today() + datetime.timedelta(days=1)).isoformat()


def study(number: int = 0, *, up: int = 0) -> Take:
    """A ii-V-I as a take of its own."""
    rows = played(II, V, I, up=up)
    return take_of(rows, name=f"study-{number}.wav", sha256=f"{number:064x}")


@pytest.fixture
def say(tmp_path: Path) -> Callable[..., str]:
    """The program, with a library of its own: what it prints, errors included."""
    runner = CliRunner(env={"STACKLINE_HOME": str(tmp_path / "home")})

    def run(*words: str) -> str:
        result = runner.invoke(commands, list(words))
        return result.output + str(result.exception or "")

    return run


def test_a_check_is_kept_with_its_date_and_its_note(
    tmp_path: Path, say: Callable[..., str]
) -> None:
    """How many passes were kept is said; list and progress have the date; a second check edits."""
    path = tmp_path / "study.json"
    path.write_text(to_json(study(5)))
    check = ("check", str(path), "--changes", TARGET_TEXT)
    told = say(*check, "--add", "--on", "2026-01-05", "--note", "upright")
    assert "1 pass kept" in told
    assert "2026-01-05" in say("library", "list")
    assert "upright" in say("library", "list")
    progress = json.loads(say("progress", "--json"))
    assert progress["targets"][0]["keys"][0]["last_played"] == "2026-01-05"
    say(*check, "--add", "--on", "2026-01-04")
    assert "2026-01-04" in say("library", "list")
    assert "upright" in say("library", "list")
    assert "--add" in say(*check, "--note", "for nothing")


def test_date_and_note_of_a_kept_take_can_be_changed(
    tmp_path: Path, say: Callable[..., str]
) -> None:
    """Passes move with the take; what is not named stays; nothing to change is told."""
    path = tmp_path / "study.json"
    path.write_text(to_json(study(5)))
    say("check", str(path), "--changes", TARGET_TEXT, "--add", "--on", "2026-01-05")
    assert "played on 2026-01-03" in say("library", "edit", "1", "--on", "2026-01-03")
    assert "slow day" in say("library", "edit", "1", "--note", "slow day")
    listed = say("library", "list")
    assert "2026-01-03" in listed
    assert "slow day" in listed
    keys = json.loads(say("progress", "--json"))["targets"][0]["keys"]
    assert keys[0]["last_played"] == "2026-01-03"
    assert "say what to change" in say("library", "edit", "1")
    assert "no take has the number 9" in say("library", "edit", "9", "--note", "x")


@pytest.mark.parametrize(
    "words",
    [
        ("library", "add", "TAKE", "--on", TOMORROW),
        ("library", "edit", "1", "--on", TOMORROW),
        ("check", "TAKE", "--changes", TARGET_TEXT, "--add", "--on", TOMORROW),
    ],
)
def test_a_day_to_come_is_refused(
    words: tuple[str, ...], tmp_path: Path, say: Callable[..., str]
) -> None:
    """Nothing was played tomorrow; nothing is kept."""
    path = tmp_path / "study.json"
    path.write_text(to_json(study(5)))
    say("library", "add", str(path), "--on", "2026-01-05")
    other = tmp_path / "other.json"
    other.write_text(to_json(study(6)))
    told = say(*[str(other) if word == "TAKE" else word for word in words])
    assert "still to come" in told
    listed = say("library", "list")
    assert "2026-01-05" in listed
    assert TOMORROW not in listed
    assert "study-6" not in listed


@pytest.mark.parametrize(
    ("typed", "seconds"), [("27.2", 27.2), ("0:27.2", 27.2), ("1:04", 64.0), ("12:00.5", 720.5)]
)
def test_times_are_read_as_they_are_printed(typed: str, seconds: float) -> None:
    """Seconds, or minutes and seconds."""
    assert CLOCK_TIME.convert(typed, None, None) == pytest.approx(seconds)


@pytest.mark.parametrize("typed", ["0:72", "1:2:3", "soon", "-1:20", ""])
def test_what_is_no_time_is_refused(typed: str) -> None:
    """With what to write instead."""
    with pytest.raises(click.BadParameter, match=r"0:27\.2"):
        CLOCK_TIME.convert(typed, None, None)


def test_a_correction_is_placed_by_the_clock_and_shown_by_note_names(
    tmp_path: Path, say: Callable[..., str]
) -> None:
    """``--at 0:01.5``, and the notes come back as names."""
    path = tmp_path / "study.json"
    path.write_text(to_json(study(5)))
    say("library", "add", str(path))
    told = say("library", "correct", "1", "--at", "0:01.5", "--notes", "F3 A3 B3 E4")
    assert "at 0:01.5 is now G" in told
    assert "notes F3 A3 B3 E4" in say("library", "show", "1")


@pytest.mark.parametrize(
    ("typed", "found"),
    [("rootless", 3), ("ROOTLESS", 3), ("rootless,3rd", 2), ("7th", 1), ("rootless bottom", 3)],
)
def test_a_part_of_a_structures_name_finds_all_that_have_it(
    typed: str, found: int, tmp_path: Path
) -> None:
    """Ii and I of the study have their 3rd at the bottom, the V its 7th."""
    with Library(tmp_path / "library.db") as kept:
        kept.add(study(1))
        assert search(kept.store, Query(structure=typed)).voicings == found
        with pytest.raises(Complaint, match="near are: 'rootless"):
            search(kept.store, Query(structure="rotless"))


def test_keys_are_read_as_players_write_them(tmp_path: Path) -> None:
    """c, C, Cm, c minor: the key that the cadence says."""
    with Library(tmp_path / "library.db") as kept:
        kept.add(study(1))
        for typed in ("C", "c", "Cm", "c minor"):
            assert search(kept.store, Query(key=typed)).voicings == 3
        assert search(kept.store, Query(key="eb")).voicings == 0


def test_chords_without_bar_lines_are_one_a_bar(tmp_path: Path, say: Callable[..., str]) -> None:
    """Three chords, three bars of four beats; and it is said."""
    assert in_bars("Dm7 G7 Cmaj7") == "Dm7 | G7 | Cmaj7"
    assert in_bars("Dm7 G7 | Cmaj7") == "Dm7 G7 | Cmaj7"
    assert [float(one.beats) for one in parse_target("Dm7 G7 Cmaj7").chords] == [4.0, 4.0, 4.0]
    path = tmp_path / "study.json"
    path.write_text(to_json(study(5)))
    assert "one chord a bar" in say("check", str(path), "--changes", "Dm9 G13(b9) C6/9")
    assert "one chord a bar" not in say("check", str(path), "--changes", "Dm9 | G13(b9) | C6/9")


# --- kill -9 -----------------------------------------------------------------------------


def _check_and_keep(path: Path, first: int, told: int) -> None:
    with Library(path) as kept:
        number = first
        while True:
            added = kept.add(study(number))
            kept.keep_passes(added.id, TARGET)
            os.write(told, number.to_bytes(4, "little"))
            number += 1


def _correct(path: Path, first: int, told: int) -> None:
    with Library(path) as kept:
        number = first
        while True:
            symbol = ("Dm9", "Dm11")[number % 2]
            kept.correct(1, Correction(onset_s=0.5, symbol=symbol))
            os.write(told, number.to_bytes(4, "little"))
            number += 1


def _restore(path: Path, first: int, told: int) -> None:
    with Library(path) as kept:
        number = first
        while True:
            restore(kept, path.with_name(f"backup-{number % 2}.db"))
            os.write(told, number.to_bytes(4, "little"))
            number += 1


def killed(work: Callable[[Path, int, int], None], path: Path, turns: int) -> list[int]:
    """Let a process work on the library and kill it, many times; the numbers it said were done."""
    fork = multiprocessing.get_context("fork")
    rng = random.Random(11)
    said: list[int] = []
    for turn in range(turns):
        reader, writer = os.pipe()
        worker = fork.Process(target=work, args=(path, 1000 * (turn + 1), writer))
        worker.start()
        os.close(writer)
        first = os.read(reader, 4)
        time.sleep(rng.uniform(0.0, 0.03))
        worker.kill()
        worker.join(30)
        rest = first + os.read(reader, 1 << 16)
        os.close(reader)
        said += [int.from_bytes(rest[i : i + 4], "little") for i in range(0, len(rest), 4)]
    return said


def test_kill_nine_while_checks_are_kept_loses_none_that_was_said(tmp_path: Path) -> None:
    """Twenty times: each take said to be kept is there with its one pass."""
    path = tmp_path / "library.db"
    Library(path).close()
    said = killed(_check_and_keep, path, 20)
    with Library(path) as kept:
        kept.store.check()
        rows = kept.store.read(
            "SELECT take.sha256, count(pass.id) FROM take LEFT JOIN pass ON take_id = take.id "
            "GROUP BY take.id"
        )
    passes = {int(row[0], 16): row[1] for row in rows}
    assert len(said) >= 20
    assert all(passes[number] == 1 for number in said)
    assert len(passes) <= len(said) + 20


def test_kill_nine_while_correcting_leaves_the_last_one_said_or_the_one_under_way(
    tmp_path: Path,
) -> None:
    """Twenty times: the chord is one of the two, and rows agree with the corrections kept."""
    path = tmp_path / "library.db"
    with Library(path) as kept:
        kept.add(study(1))
    said = killed(_correct, path, 20)
    assert len(said) >= 20
    with Library(path) as kept:
        kept.store.check()
        symbol = kept.take(1).voicings[0].chord.symbol.text
        row = kept.store.read("SELECT symbol FROM voicing WHERE take_id = 1 AND place = 0")[0][0]
    assert row == symbol
    assert symbol in ("Dm9", "Dm11")


def test_kill_nine_while_restoring_leaves_one_whole_library_or_the_other(tmp_path: Path) -> None:
    """Twenty times, between a backup of two takes and one of three."""
    path = tmp_path / "library.db"
    with Library(path) as kept:
        kept.add(study(1))
        kept.add(study(2, up=1))
        back_up(kept, tmp_path / "backup-0.db")
        kept.add(study(3, up=2))
        back_up(kept, tmp_path / "backup-1.db")
    said = killed(_restore, path, 20)
    assert len(said) >= 20
    with Library(path) as kept:
        kept.store.check()
        numbers = {int(kept.take(one.id).source.sha256, 16) for one in kept.entries()}
    assert numbers in ({1, 2}, {1, 2, 3})
