"""Figures instrument by instrument, and on real recordings with the truth of their notes."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from bench.scoring import by_instrument
from bench.scoring.by_instrument import main
from bench.scoring.real_clips import score_clip
from bench.scoring.scoring import Heard
from stackline.shared.notes import Note
from tests.support.sound.made_bank import write_bank

TRUE = [(1.0, 2.0, 60), (1.01, 2.0, 64), (1.02, 2.0, 67), (3.0, 3.5, 72)]


def _note(onset_s: float, midi: int) -> Note:
    return Note(onset_s=onset_s, offset_s=onset_s + 0.4, midi=midi, velocity=70, confidence=0.9)


class Deaf:
    """A listener that hears nothing."""

    name = "deaf"

    def listen(self, paths: list[Path]) -> list[Heard]:
        return [Heard(notes=(), attacks=(), confidences=(), chords=None) for _ in paths]


def test_notes_right_score_one() -> None:
    """The truth itself, and the truth 30 ms late: precision, recall, F and sets are whole."""
    for late in (0.0, 0.03):
        score = score_clip("a", TRUE, [_note(onset + late, midi) for onset, _, midi in TRUE])
        assert (score.precision, score.recall, score.f1) == (1.0, 1.0, 1.0)
        assert (score.sets.right, score.sets.total) == (1, 1)


def test_an_octave_too_many_spoils_the_set_and_the_precision() -> None:
    """Five notes heard for four: precision 4/5, F 2PR / (P + R) = 8/9 (common practice)."""
    heard = [_note(onset, midi) for onset, _, midi in TRUE] + [_note(1.0, 72)]
    score = score_clip("a", TRUE, heard)
    assert score.precision == pytest.approx(0.8)
    assert score.f1 == pytest.approx(8 / 9)
    assert score.sets.right == 0


def test_nothing_heard_scores_nothing() -> None:
    """No notes: zeros, no error."""
    score = score_clip("a", TRUE, [])
    assert (score.precision, score.recall, score.f1, score.sets.right) == (0.0, 0.0, 0.0, 0)


@pytest.fixture
def listener(monkeypatch: pytest.MonkeyPatch) -> None:
    """A listener in place of an ear."""
    monkeypatch.setattr(by_instrument, "OurEar", lambda ear: Deaf())


def test_every_keyboard_of_the_split_has_its_column(tmp_path: Path, listener: None) -> None:
    """One scene and one with a horn on the bank's two dev keyboards, and one real clip."""
    clips = tmp_path / "clips"
    clips.mkdir()
    (clips / "a.json").write_text(json.dumps({"notes": TRUE}), encoding="utf-8")
    soundfile.write(clips / "a.flac", np.zeros(8000), 16_000)
    out = tmp_path / "b.json"
    arguments = ["--bank", str(write_bank(tmp_path / "bank")), "--takes", "1", "--seconds", "5"]
    arguments += ["--only", "listed: clean", "--only", "listed: bass, drums and a horn"]
    done = CliRunner().invoke(main, [*arguments, "--real", str(clips), "--out", str(out)])
    assert done.exit_code == 0, done.output
    assert "test_piano | test_tines | mean" in done.output
    data = json.loads(out.read_text(encoding="utf-8"))
    assert set(data["table"]) == {"listed: clean", "listed: bass, drums and a horn at -3 dB"}
    assert data["clips"][0]["sets"]["total"] == 1


def test_a_folder_without_recordings_is_told_in_a_sentence(tmp_path: Path, listener: None) -> None:
    """Bad input ends with a sentence; without the option a sentence says what is left out."""
    bank = str(write_bank(tmp_path / "bank"))
    arguments = ["--bank", bank, "--only", "no such scene", "--out", str(tmp_path / "b.json")]
    done = CliRunner().invoke(main, [*arguments, "--real", str(tmp_path)])
    assert done.exit_code == 1
    assert "holds no recording" in done.output
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0
    assert "No real recordings were given" in done.output
