"""``stackline today`` as it is typed."""

import io
import json
from pathlib import Path

import pretty_midi
import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.practice.library.library import Library
from stackline.practice.targets.target_text import parse_target
from stackline.shared.complaint import Complaint
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """A library in which one target was played cleanly in C, long ago."""
    path = tmp_path / "kept.db"
    with Library(path) as kept:
        added = kept.add(take_of(played(*TWO_FIVE)), played_on="2024-03-01")
        kept.keep_passes(added.id, parse_target(TARGET_TEXT, name="study"))
    return path


def _run(*typed: str) -> str:
    done = CliRunner().invoke(commands, ["today", *typed], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


def test_what_is_due_and_one_new_key_as_text_and_as_midi(library: Path, tmp_path: Path) -> None:
    """C is due, F is the next round the circle; pretty_midi finds four times three chords each."""
    out = tmp_path / "today.mid"
    text = _run("--library", str(library), "--midi", str(out))
    rows = [line for line in text.splitlines() if "study" in line]
    assert [row.split()[2] for row in rows] == ["C", "F"]
    file = pretty_midi.PrettyMIDI(io.BytesIO(out.read_bytes()))
    piano = next(one for one in file.instruments if one.program == 0 and not one.is_drum)
    assert len(piano.notes) == 2 * 4 * 12
    assert any(one.program == 32 for one in file.instruments)


def test_facts_as_json(library: Path) -> None:
    """The same in order."""
    data = json.loads(_run("--library", str(library), "--json"))
    assert [one["key"] for one in data["items"]] == ["C", "F"]


def test_an_empty_library_says_how_to_begin(tmp_path: Path) -> None:
    """One sentence with the command to type."""
    with pytest.raises(Complaint, match="stackline check TAKE"):
        _run("--library", str(tmp_path / "none.db"))


def test_another_bass_is_refused(library: Path) -> None:
    """Before anything is written."""
    with pytest.raises(Complaint, match="allowed are roots"):
        _run("--library", str(library), "--bass", "slap")
