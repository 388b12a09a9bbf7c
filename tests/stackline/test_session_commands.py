"""An evening through the commands: check without a target, library add --sections, watch."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.practice.library.library import Library
from stackline.shared.codec.codec_session import session_from_json
from stackline.shared.complaint import Complaint
from tests.support.evening import TARGET, evening, midi_file
from tests.support.places import ROOT


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A player with nothing yet; outputs land in a folder of the test."""
    monkeypatch.setenv("STACKLINE_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("stackline.sessions.watch_command.SETTLES_S", 0.1)
    return tmp_path / "home"


@pytest.fixture
def phone(tmp_path: Path) -> Path:
    """A folder with one recording."""
    folder = tmp_path / "phone"
    folder.mkdir()
    (folder / "evening.mid").write_bytes(midi_file(evening()))
    return folder


def _run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(commands, list(words))
    if isinstance(result.exception, Complaint):
        return 2, str(result.exception)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def test_check_without_a_target_finds_what_was_practised(phone: Path, tmp_path: Path) -> None:
    """Table, JSON and page; what is sure is kept, the rest is listed with what to type."""
    page = tmp_path / "evening.html"
    words = ("check", str(phone / "evening.mid"), "--page", str(page), "--add")
    code, said = _run(*words)
    assert code == 0, said
    assert "3 sections" in said
    assert TARGET.name in said
    assert "section 2: added, take 1" in said
    assert "--sections 1,3" in said
    assert TARGET.name in page.read_text(encoding="utf-8")
    with Library() as library:
        (entry,) = library.entries()
        assert entry.of_name == "evening.mid"
        assert [one.name for one in library.targets()] == [TARGET.name]
    code, said = _run(*words[:2], "--json", "-")
    session = session_from_json(said)
    assert [one.recognised[0].target for one in session.sections if one.recognised] == [TARGET.name]
    assert session.sections[1].recognised[0].passes >= 3


def test_the_sections_that_were_left_can_be_added(phone: Path) -> None:
    """As the sentence says; a number that is not there, and nonsense, are refused."""
    path = str(phone / "evening.mid")
    code, said = _run("library", "add", path, "--sections", "1,3")
    assert code == 0, said
    assert said.count("added") == 2
    code, said = _run("library", "add", path, "--sections", "9")
    assert code != 0
    assert "has 3 sections, so no section 9" in said
    code, said = _run("library", "add", path, "--sections", "two")
    assert code != 0
    assert "write all, or the numbers" in said


def test_a_session_kept_as_json_is_checked_again(phone: Path, tmp_path: Path) -> None:
    """Without hearing it; one that is spoilt is named with the place."""
    kept = tmp_path / "evening.json"
    code, said = _run("check", str(phone / "evening.mid"), "--json", str(kept))
    assert code == 0, said
    code, again = _run("check", str(kept))
    assert code == 0
    assert again == said
    kept.write_text(kept.read_text().replace('"format": 1,', '"format": 7,', 1))
    code, said = _run("check", str(kept))
    assert code == 2
    assert "session.format: found 7" in said


def test_a_first_beat_is_of_one_piece(phone: Path) -> None:
    """And is refused where a recording may hold several."""
    code, said = _run("check", str(phone / "evening.mid"), "--first-beat", "2")
    assert code == 2
    assert "--first-beat is a moment of one piece" in said


def test_watch_once_works_through_a_folder(phone: Path, tmp_path: Path) -> None:
    """Pages, JSON, index; the same content under another name is not heard twice; broken ones
    are reported once and stop nothing; what is no recording is passed over.
    """
    (phone / "a broken one.m4a").write_bytes(b"no sound at all" * 100)
    (phone / "notes.txt").write_text("bring cables")
    (phone / ".evening.mid").write_bytes(b"half of it")
    (phone / "empty.wav").touch()
    words = ("watch", str(phone), "-o", str(tmp_path / "out"), "--once")
    code, said = _run(*words)
    assert code == 2
    assert said.count("is not a recording") == 1
    assert "3 sections, 1 kept" in said
    names = {one.name for one in (tmp_path / "out").iterdir()}
    assert names == {
        "evening-1.html", "evening-2.html", "evening-3.html", "evening.sections.html",
        "evening.sections.json", "index.html",
    }  # fmt: skip
    assert "evening-2.html" in (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    (phone / "copied.mid").write_bytes((phone / "evening.mid").read_bytes())
    code, said = _run(*words)
    assert (code, said) == (0, "")


def test_watch_puts_later_recordings_into_the_index(phone: Path, tmp_path: Path) -> None:
    """Another of the same name is told apart."""
    words = ("watch", str(phone), "-o", str(tmp_path / "out"), "--once")
    assert _run(*words)[0] == 0
    (phone / "evening.mid").write_bytes(midi_file(evening()[:60]))
    code, said = _run(*words)
    assert code == 0, said
    index = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert index.count("evening") >= 4
    data = sorted(one.name for one in (tmp_path / "out").glob("*.sections.json"))
    assert len(data) == 2
    sha = json.loads((tmp_path / "out" / data[0]).read_text())["session"]["sha256"]
    assert data[0] == f"evening-{sha[:8]}.sections.json"


def test_watch_leaves_what_is_still_growing(phone: Path, tmp_path: Path,
                                            monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """A phone that is still copying: said, and heard the next time."""
    real = time.sleep

    def copying(seconds: float) -> None:
        with (phone / "evening.mid").open("ab") as file:
            file.write(b"\0")
        real(seconds)

    monkeypatch.setattr("stackline.sessions.watch_command.time.sleep", copying)
    code, said = _run("watch", str(phone), "-o", str(tmp_path / "out"), "--once")
    assert code == 0
    assert "evening.mid is still being written" in said
    assert not (tmp_path / "out").exists()


def test_watch_of_no_folder_is_a_sentence(tmp_path: Path) -> None:
    """Which folder, and what to name."""
    code, said = _run("watch", str(tmp_path / "nowhere"), "--once")
    assert code == 2
    assert "cannot read" in said
    assert "name the folder" in said


def test_watch_ends_cleanly_when_it_is_interrupted(tmp_path: Path) -> None:
    """As a process of its own, by the signal that Ctrl-C sends: exit code 0, one sentence."""
    (tmp_path / "empty").mkdir()
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "stackline", "watch", str(tmp_path / "empty")],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert process.stdout is not None
    assert "watching" in process.stdout.readline()
    process.send_signal(signal.SIGINT)
    out, errors = process.communicate(timeout=60)
    assert process.returncode == 0, errors
    assert "stopped" in out
    assert errors == ""
