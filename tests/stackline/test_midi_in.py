"""A MIDI file through the commands: transcribed, checked, never overwritten; a score as changes."""

import json
from pathlib import Path

from click.testing import CliRunner

from stackline.cli import commands
from stackline.report.files import midi_file
from stackline.report.notation import musicxml_file
from stackline.report.words.take_view import TakeView
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of
from tests.support.takes.sample_take import sample_take


def _run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(commands, list(words))
    return result.exit_code, result.output + str(result.exception or "")


def test_a_midi_file_is_transcribed_and_not_overwritten(tmp_path: Path) -> None:
    """Page, JSON and table come; beside the file itself it is refused in a sentence."""
    path = tmp_path / "evening.mid"
    path.write_bytes(midi_file.render(TakeView(sample_take())))
    before = path.read_bytes()
    code, said = _run("transcribe", str(path), "-o", str(tmp_path / "out"))
    assert code == 0, said
    assert {one.name for one in (tmp_path / "out").iterdir()} == {
        "evening.html", "evening.json", "evening.mid"
    }  # fmt: skip
    assert json.loads((tmp_path / "out" / "evening.json").read_text())["ear"] == "MIDI keys"
    code, said = _run("transcribe", str(path), "-o", str(tmp_path))
    assert code != 0
    assert "would be overwritten" in said
    assert path.read_bytes() == before


def test_a_midi_file_is_checked(tmp_path: Path) -> None:
    """A ii-V-I in C, written as MIDI, is found."""
    path = tmp_path / "pass.mid"
    path.write_bytes(midi_file.render(TakeView(take_of(played(*TWO_FIVE, every_s=2.0)))))
    code, said = _run("check", str(path), "--changes", TARGET_TEXT, "--json", "-")
    assert code == 0, said
    assert len(json.loads(said)["passes"]) == 1


def test_a_score_gives_the_changes(tmp_path: Path) -> None:
    """Our own MusicXML, under the notes that it was made from."""
    take = sample_take()
    (tmp_path / "a.mid").write_bytes(midi_file.render(TakeView(take)))
    (tmp_path / "a.musicxml").write_text(musicxml_file.render(TakeView(take)), encoding="utf-8")
    code, said = _run("transcribe", str(tmp_path / "a.mid"), "-o", str(tmp_path / "out"),
                      "--changes", str(tmp_path / "a.musicxml"), "--formats", "json")  # fmt: skip
    assert code == 0, said
    made = json.loads((tmp_path / "out" / "a.json").read_text())
    assert {one["chord"]["source"] for one in made["voicings"]} == {"changes"}
