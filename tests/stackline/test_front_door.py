"""Streams that are full or closed, signals while starting, outputs that would cost the player."""

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
from stackline.shared.codec.codec_read import from_json
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from tests.support.places import ROOT
from tests.support.takes.sample_take import sample_take

posix = pytest.mark.skipif(os.name != "posix", reason="streams of POSIX")
SHELL = f"{sys.executable} -m stackline "


def shell(line: str, folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a line of shell, with STACKLINE_HOME in the folder."""
    home = {"PYTHONPATH": str(ROOT), "STACKLINE_HOME": str(folder / "home")}
    return subprocess.run(
        ["bash", "-c", line], capture_output=True, text=True, cwd=folder, check=False, timeout=120,
        env=os.environ | home | more,
    )  # fmt: skip


@pytest.fixture
def take(tmp_path: Path) -> Path:
    """A take as JSON."""
    path = tmp_path / "take.json"
    path.write_text(to_json(sample_take()), encoding="utf-8")
    return path


@posix
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize(
    "words", ["targets", "targets --json", "doctor --json", "check take.json --changes V7 --json -"]
)
def test_a_full_or_closed_output_is_one_sentence(tmp_path: Path, take: Path, words: str) -> None:
    """What cannot be printed is told on the other stream, and the exit code says so."""
    for target in ("/dev/full", "&-"):
        found = shell(f"{SHELL}{words} >{target}", tmp_path)
        assert found.returncode == 2, found
        assert found.stderr.startswith("stackline: cannot print: ")
        assert len(found.stderr.splitlines()) == 1


@posix
def test_a_closed_output_is_no_place_for_other_files(tmp_path: Path, take: Path) -> None:
    """With stdout closed the library's file must not get its number and be printed into."""
    shell(f"{SHELL}library add take.json >&- 2>&-", tmp_path)
    found = shell(f"{SHELL}library list --json", tmp_path)
    assert [one["name"] for one in json.loads(found.stdout)] == [sample_take().source.name]


@posix
def test_a_reader_that_goes_away_is_no_fault(tmp_path: Path) -> None:
    """As with any program in front of head."""
    found = shell(f"{SHELL}targets --json | head -c 1", tmp_path)
    assert found.stdout == "["
    assert "Traceback" not in found.stderr
    assert "Exception" not in found.stderr


@posix
@pytest.mark.parametrize("to", ["-", "/dev/stdout", "/dev/fd/1"])
def test_json_on_the_own_output_is_json_alone(tmp_path: Path, take: Path, to: str) -> None:
    """However the own output is named, also where it is a file."""
    line = f"{SHELL}check take.json --changes 'V7 | Imaj7' --json {to} > out.json"
    assert shell(line, tmp_path).returncode in (0, 1)
    assert "passes" in json.loads((tmp_path / "out.json").read_text())


@posix
@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT"])
def test_a_signal_while_starting_is_one_sentence(tmp_path: Path, name: str) -> None:
    """However far the imports have come."""
    script = (
        "import sys, os, signal, stackline.__main__ as door\n"
        "class Ask:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        f"        if name == 'stackline.cli': os.kill(os.getpid(), signal.{name})\n"
        "sys.meta_path.insert(0, Ask())\n"
        "sys.argv = ['stackline', 'targets']\n"
        "door.main()\n"
    )
    found = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False,
        env=os.environ | {"PYTHONPATH": str(ROOT)}, timeout=60,
    )  # fmt: skip
    assert found.returncode == 130
    assert found.stderr == "stackline: interrupted; nothing half-written was left\n"
    assert found.stdout == ""


SCRIPT = (
    "import sys; sys.argv = ['stackline', 'targets']; from stackline.__main__ import main; main()"
)


@posix
@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT"])
@pytest.mark.parametrize("start", [["-m", "stackline", "targets"], ["-c", SCRIPT]])
def test_a_real_signal_while_the_program_starts(name: str, start: list[str]) -> None:
    """From outside, at many moments: our files never show a traceback, nor end with 0 unasked.

    Before our first line Python itself is starting: what it says then, and its own ends by the
    signal, are not ours to change.
    """
    ours = str(ROOT / "stackline")
    for moment in range(12):
        process = subprocess.Popen(
            [sys.executable, *start], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        time.sleep(0.03 + 0.02 * moment)
        process.send_signal(getattr(signal, name))
        out, errors = process.communicate(timeout=60)
        assert ours not in errors
        assert process.returncode != 0 or out


def test_who_imports_us_keeps_his_signals() -> None:
    """A program of somebody's own that uses the library ends as it did before."""
    script = "import signal, stackline; print(signal.getsignal(signal.SIGINT).__name__)"
    found = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert found.stdout == "default_int_handler\n"


def test_outputs_that_would_cost_the_player_are_refused(tmp_path: Path, take: Path) -> None:
    """The take that is read, a recording, a folder: each stays what it was."""
    song = tmp_path / "monday.wav"
    song.write_bytes(b"RIFF")
    before = take.read_bytes()
    for to in (take, song, tmp_path):
        for option in ("--json", "--page"):
            words = ["check", str(take), "--changes", "V7", option, str(to)]
            found = CliRunner().invoke(commands, words)
            assert isinstance(found.exception, Complaint)
    assert take.read_bytes() == before
    assert song.read_bytes() == b"RIFF"


def test_outputs_of_one_run_never_meet(tmp_path: Path) -> None:
    """Capitals, an index of several takes, one recording twice."""
    for names in (("A.wav", "a.mp3"), ("index.wav", "b.wav"), ("a.wav", "a.wav")):
        found = CliRunner().invoke(commands, ["transcribe", *names])
        assert isinstance(found.exception, Complaint)
        assert "outputs of the same name" in str(found.exception)


def test_the_library_is_never_its_own_backup(tmp_path: Path, take: Path) -> None:
    """Nor its own export."""
    kept = str(tmp_path / "kept.db")
    assert (
        CliRunner().invoke(commands, ["library", "add", str(take), "--file", kept]).exit_code == 0
    )
    for what in ("backup", "export"):
        found = CliRunner().invoke(commands, ["library", what, kept, "--file", kept])
        assert "is read here" in str(found.exception)
    shown = CliRunner().invoke(commands, ["library", "show", "1", "--json", "--file", kept])
    assert from_json(shown.stdout).notes == sample_take().notes
