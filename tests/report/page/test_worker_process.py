"""Work in a process of its own: the same result, and no result where the process fails."""

import os
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from stackline.report.notation.score_in_page import LONGEST_SCORE, page_score
from stackline.report.outputs import write
from stackline.report.page.page_worker import PageInTheMaking
from stackline.report.page.worker_process import Apart, ApartError
from stackline.theory.chords.spelling import spelled_with
from stackline.theory.reading import read
from tests.support.sound.click_track import clicks
from tests.support.takes.played import attacks
from tests.support.takes.sample_take import long_take, sample_take


def pid_and(word: str) -> tuple[int, str]:
    """Who did it, and what was given."""
    return os.getpid(), word


def noisy(word: str) -> str:
    """A library that prints."""
    os.write(1, b"printed by a library\n")
    print("and by Python")
    return word


def failing() -> None:
    """Work that goes wrong."""
    raise ValueError


def test_the_work_is_done_elsewhere() -> None:
    """Arguments go over, the result comes back, and another process has made it."""
    with Apart("tests.report.page.test_worker_process") as apart:
        apart.give(pid_and, "A\u266d13")
        pid, word = apart.result()
    assert pid != os.getpid()
    assert word == "A\u266d13"


def test_what_a_library_prints_does_not_spoil_the_result() -> None:
    """Only the result travels back."""
    with Apart("tests.report.page.test_worker_process") as apart:
        apart.give(noisy, "whole")
        assert apart.result() == "whole"


def test_work_that_fails_gives_no_result() -> None:
    """The caller is told, and can do the work itself."""
    with Apart("tests.report.page.test_worker_process") as apart:
        apart.give(failing)
        with pytest.raises(ApartError):
            apart.result()


def test_a_module_that_cannot_be_imported_gives_no_result() -> None:
    """The process has ended before, or while, the work is handed over; nothing else breaks."""
    with Apart("no.such.module") as apart:
        time.sleep(0.5)
        apart.give(pid_and, "x" * 1_000_000)
        with pytest.raises(ApartError):
            apart.result()


@pytest.mark.parametrize("python", ["", "/no/such/python"])
def test_without_a_second_python_the_files_are_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, python: str
) -> None:
    """Sound and score are then made here."""
    take = sample_take()
    path = tmp_path / "warm-up.wav"
    clicks(path, [0.5, 2.0], take.source.duration_s)
    with PageInTheMaking(path) as making:
        (apart,) = write(take, tmp_path / "a", ("page",), making=making)
    monkeypatch.setattr(sys, "executable", python)
    with PageInTheMaking(path) as making:
        (here,) = write(take, tmp_path / "b", ("page",), making=making)
    assert "audio/mp4" in here.read_text(encoding="utf-8")
    assert apart.read_bytes() == here.read_bytes()


def test_a_score_drawn_elsewhere_is_the_same(tmp_path: Path) -> None:
    """Page by page, by the process that has made the sound."""
    take = long_take(60)
    clicks(tmp_path / "clicks.wav", [0.5], 1.0)
    with PageInTheMaking(tmp_path / "clicks.wav") as making:
        assert making.sound(1.0) is not None
        making.begin_score(take)
        assert making.score(take) == page_score(take)


def test_a_score_drawn_elsewhere_is_spelled_as_was_asked(tmp_path: Path) -> None:
    """A cadence in D flat, asked for in sharps, which the other process does not know of."""
    stacks = [(54, 58, 61, 65), (54, 58, 60, 65), (53, 56, 60, 63), (53, 56, 58, 63)]
    clicks(tmp_path / "clicks.wav", [0.5], 1.0)
    with spelled_with("sharps"), PageInTheMaking(tmp_path / "clicks.wav") as making:
        base = sample_take()
        voicings = read(attacks(*stacks), base.grid, end_s=8.0).voicings
        struck = tuple(voicing.attack for voicing in voicings)
        take = replace(base, attacks=struck, voicings=voicings, motions=())
        assert making.sound(1.0) is not None
        making.begin_score(take)
        assert making.score(take) == page_score(take)


def test_a_take_without_a_score_needs_no_process(tmp_path: Path) -> None:
    """A long take's page has no score; the helping process is gone before the page is written."""
    take = long_take(3)
    long = replace(take, voicings=take.voicings * LONGEST_SCORE)
    clicks(tmp_path / "clicks.wav", [0.5], 1.0)
    with PageInTheMaking(tmp_path / "clicks.wav") as making:
        making.sound(1.0)
        making.begin_score(long)
        assert making.score(long) == ()


def test_one_process_does_one_piece_of_work_after_the_other() -> None:
    """Results come in the order of the work."""
    with Apart("tests.report.page.test_worker_process") as apart:
        pids = set()
        for word in ("b9", "#11"):
            apart.give(pid_and, word)
            pid, back = apart.result()
            assert back == word
            pids.add(pid)
    assert len(pids) == 1
