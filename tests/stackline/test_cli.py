"""The command line as a player meets it: help, hints, bad input, exit codes."""

import json
import os
import runpy
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from stackline.cli import commands
from tests.support.command import stackline

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", sorted(commands.commands))
def test_every_command_has_help_with_an_example(name: str) -> None:
    """--help of each command ends in something to type."""
    result = CliRunner().invoke(commands, [name, "--help"])
    assert result.exit_code == 0
    assert f"stackline {name}" in result.output.split("Example:")[1]


def test_help_waits_for_no_heavy_library() -> None:
    """What hears, draws and stores is loaded by the commands that use it: help takes a moment."""
    program = "import sys, stackline.cli; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    heavy = {"numpy", "scipy", "av", "onnxruntime", "jinja2", "rich", "sqlite3", "verovio", "typst"}
    assert not heavy & set(done.stdout.split())


def test_the_page_of_commands_is_up_to_date() -> None:
    """docs/commands.md holds the help of every command and option, as the program prints it."""
    made = runpy.run_path(str(ROOT / "scripts" / "make_commands_page.py"))["page"]()
    assert (ROOT / "docs" / "commands.md").read_text() == made, (
        "run: python scripts/make_commands_page.py"
    )


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["transcribe", "nowhere.wav"], "nowhere.wav"),
        (["transcribe", "."], "folder"),
        (["transcribe", "x.wav", "--tempo", "4"], "--tempo 4: allowed are 30 to 400"),
        (["transcribe", "x.wav", "--meter", "4"], "--meter '4': allowed are 2/4 to 7/4"),
        (["transcribe", "x.wav", "--formats", "page,doc"], "--formats 'doc': allowed are"),
        (["transcribe", "a/x.wav", "b/x.wav"], "outputs of the same name"),
        (["transcribe", "x.wav", "--changes", "tune.txt"], "--changes tune.txt: cannot be read"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_code_2(words: list[str], sentence: str) -> None:
    """What came, what is allowed; no traceback."""
    result = stackline(*words)
    assert result.returncode == 2
    assert sentence in result.stderr
    assert "Traceback" not in result.stderr
    assert result.stdout == ""


def test_a_typo_in_the_changes_is_underlined() -> None:
    """The symbol that cannot be read stands above its carets."""
    result = stackline("transcribe", "x.wav", "--changes", "Dm9 | G31(b9) | C6/9")
    assert result.returncode == 2
    shown = result.stderr.splitlines()
    symbol = next(line for line in shown if "G31(b9)" in line and "|" in line)
    carets = next(line for line in shown if "^" in line)
    assert carets.index("^") in range(symbol.index("G31"), symbol.index("G31") + 7)


def test_doctor_tells_facts_as_json() -> None:
    """Every finding says what was looked at, and how to mend what is missing."""
    result = stackline("doctor", "--json")
    findings = json.loads(result.stdout)
    things = {finding["thing"]: finding for finding in findings}
    assert things["numpy"]["fine"]
    assert things["piano ear"]["fine"]
    assert things["general ear"]["fine"]
    assert "decoders" in things
    assert all(finding["fix"] for finding in findings if not finding["fine"])


def test_an_interrupted_run_leaves_nothing_behind(tmp_path: Path) -> None:
    """Stopping in the middle exits with 130, without outputs and without temporary files."""
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    recording = tmp_path / "long.wav"
    _long_noise(recording)
    out = tmp_path / "out"
    process = subprocess.Popen(
        [sys.executable, "-m", "stackline", "transcribe", str(recording), "-o", str(out)],
        env=os.environ | {"PYTHONPATH": str(ROOT), "TMPDIR": str(scratch)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    time.sleep(4)
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 130, errors
    assert "interrupted" in errors
    assert not out.exists() or list(out.iterdir()) == []
    assert list(scratch.iterdir()) == []


def _long_noise(path: Path) -> None:
    """Twenty minutes of soft noise: long enough to be interrupted."""
    import numpy as np
    import soundfile

    rng = np.random.default_rng(5)
    with soundfile.SoundFile(path, "w", samplerate=22050, channels=1) as sound:
        for _ in range(20):
            sound.write(0.1 * rng.standard_normal(60 * 22050).astype(np.float32))
