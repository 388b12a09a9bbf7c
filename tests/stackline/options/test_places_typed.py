"""Places as they are printed, typed to the commands that ask for one."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from fixtures.played.lines.line_takes import as_heard
from fixtures.played.takes import LISTED, make_take
from stackline import read_notes
from stackline.cli import commands
from stackline.report.words.places import Places
from stackline.shared.codec.codec_write import to_json
from stackline.shared.notes import Beat, BeatGrid
from stackline.shared.take import Take


def _run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(commands, list(words))
    return result.exit_code, result.output + str(result.exception or "")


@pytest.fixture(scope="module")
def take() -> Take:
    """A made take in bars."""
    made = make_take(43, LISTED, duration_s=24.0)
    beats = tuple(Beat(time_s=at, number=i % 4 + 1) for i, at in enumerate(made.beats_s))
    grid = BeatGrid(beats=beats, tempo_bpm=made.tempo_bpm, source="heard", confidence=0.9)
    return read_notes(as_heard(made), beats=grid)


def test_a_drill_from_bars_is_that_from_seconds(take: Take, tmp_path: Path) -> None:
    """``--from`` and ``--to`` in three spellings cut the same voicings out."""
    path = tmp_path / "take.json"
    path.write_text(to_json(take), encoding="utf-8")
    places = Places(take)
    first, last = take.voicings[1].attack, take.voicings[4].attack
    spelled = [
        (places.short(first), places.short(last)),
        (places.words(first), places.words(last)),
        (f"{first.onset_s} s", f"{last.onset_s} s"),
    ]
    drills = []
    for start, end in spelled:
        code, said = _run("drill", "--take", str(path), "--from", start, "--to", end, "--keys", "C",
                          "--json")  # fmt: skip
        assert code == 0, said
        drills.append(json.loads(said))
    assert drills[0] == drills[1] == drills[2]


def test_a_correction_by_bar_and_beat(take: Take, tmp_path: Path) -> None:
    """The voicing at a printed place is the one put right, and is told by its place."""
    path, library = tmp_path / "take.json", str(tmp_path / "kept.db")
    path.write_text(to_json(take), encoding="utf-8")
    assert _run("library", "add", str(path), "--file", library)[0] == 0
    where = Places(take).words(take.voicings[3].attack)
    code, said = _run("library", "correct", "1", "--at", where, "--chord", "Dbm11",
                      "--file", library)  # fmt: skip
    assert code == 0, said
    assert said.startswith(f"{where} is now Dbm11")


def test_a_place_that_cannot_be_is_refused(take: Take, tmp_path: Path) -> None:
    """With what may be written, or how far the bars go."""
    path = tmp_path / "take.json"
    path.write_text(to_json(take), encoding="utf-8")
    code, said = _run("drill", "--take", str(path), "--from", "soon")
    assert code != 0
    assert "0:27.2" in said
    code, said = _run("drill", "--take", str(path), "--from", "900.1")
    assert code != 0
    assert "its bars go to" in said
