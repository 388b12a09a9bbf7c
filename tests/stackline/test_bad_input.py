"""Awkward files from the outside: one clear sentence and the right exit code, nothing left."""

import json
import os
from pathlib import Path

import pytest

from tests.support.command import stackline
from tests.support.sound.awkward_files import AWKWARD, Awkward

CODES = {"complaint": 2, "nothing": 1, "notes": 0}


@pytest.mark.parametrize("awkward", AWKWARD.values(), ids=list(AWKWARD))
def test_an_awkward_file_gets_its_sentence_and_its_exit_code(
    awkward: Awkward, tmp_path: Path
) -> None:
    """A complaint names the file; nothing heard is said; what can be heard is written."""
    if not awkward.can_be_made:
        pytest.skip(f"{awkward.needs} is not installed")
    path, out = tmp_path / awkward.file, tmp_path / "out"
    awkward.write(path)
    result = stackline("transcribe", str(path), "-o", str(out))
    assert result.returncode == CODES[awkward.outcome], result.stderr + result.stdout
    assert "Traceback" not in result.stderr
    if awkward.outcome == "complaint":
        assert awkward.file in result.stderr
        assert len(result.stderr.strip().splitlines()) == 1
        assert not out.exists()
    elif awkward.outcome == "nothing":
        assert "no attacks were heard" in result.stdout
        assert not out.exists()
    else:
        assert sorted(path.suffix for path in out.iterdir()) == [".html", ".json", ".mid"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_told(tmp_path: Path) -> None:
    """The sentence names the file that could not be written."""
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    result = stackline("transcribe", _one_note(tmp_path), "-o", str(closed / "out"))
    assert result.returncode == 2
    assert "cannot write" in result.stderr


def test_an_output_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "taken").write_text("")
    result = stackline("transcribe", _one_note(tmp_path), "-o", str(tmp_path / "taken"))
    assert result.returncode == 2
    assert "cannot write" in result.stderr
    assert "Traceback" not in result.stderr


def test_json_to_the_pipe_is_json_alone(tmp_path: Path) -> None:
    """--json - prints one document of format 1 and no table."""
    result = stackline("transcribe", _one_note(tmp_path), "--json", "-", "-o", str(tmp_path / "o"))
    assert result.returncode == 0, result.stderr
    document = json.loads(result.stdout)
    assert document["format"] == 1
    assert [note["midi"] for note in document["notes"]] == [60]
    assert not (tmp_path / "o").exists()


def _one_note(folder: Path) -> str:
    one = AWKWARD["one note"]
    path = folder / one.file
    one.write(path)
    return str(path)
