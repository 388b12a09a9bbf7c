"""The accuracy run as a whole: scenes, listeners, results on disk."""

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from bench.accuracy import FULL, QUICK, Outcome, Size, as_data, main, report, run
from bench.scoring.scoring import Heard
from fixtures.sounded.bank import load_bank
from fixtures.sounded.company import has_speech
from fixtures.sounded.scenes import (
    FIRST_SEED,
    PLAYED,
    QUIET,
    Scene,
    Studio,
    record_quiet,
    record_scene,
)
from tests.support.sound.made_bank import RATE_HZ, write_bank
from tests.support.takes.perfect_hearing import perfect

SMALL = Size(takes=1, duration_s=8.0, quiet_s=2.0)
SILENT = [name for name in QUIET if name != "speech"]
FACTS = {
    "commit": "0000000", "split": "dev", "first_seed": 1, "band": ["test_bass"],
    "instruments": {"listed: clean": ["test_piano"]},
}  # fmt: skip


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Studio:
    """A studio with a bank of sines."""
    folder = write_bank(tmp_path_factory.mktemp("bank"))
    return Studio(
        players=load_bank(folder, split="dev"),
        company=load_bank(folder, split="train"),
        split="dev",
    )


class Knowing:
    """A listener that is told the truth, recording by recording."""

    name = "knowing"

    def __init__(self, studio: Studio, scenes: Sequence[Scene]) -> None:
        takes = [
            recording.take
            for scene in scenes
            for recording in record_scene(scene, studio, takes=1, duration_s=8.0)
        ]
        self._answers = [perfect(take) for take in takes if take is not None]

    def listen(self, paths: Sequence[Path]) -> list[Heard]:
        answers, self._answers = self._answers[: len(paths)], self._answers[len(paths) :]
        nothing = Heard(notes=(), attacks=(), confidences=(), chords=None)
        return answers or [nothing] * len(paths)


class Deaf:
    """A listener that hears nothing; it checks that what it gets is sound."""

    name = "deaf"

    def listen(self, paths: Sequence[Path]) -> list[Heard]:
        for path in paths:
            samples, rate_hz = soundfile.read(path)
            assert rate_hz == RATE_HZ
            assert np.all(np.isfinite(samples))
        return [Heard(notes=(), attacks=(), confidences=(), chords=None) for _ in paths]


@pytest.fixture(scope="module")
def outcomes(studio: Studio) -> list[Outcome]:
    """Both listeners in every scene that needs no speech."""
    scenes = [scene for scene in PLAYED if "talk" not in scene.name]
    return run([Knowing(studio, scenes), Deaf()], studio, SMALL, scenes, SILENT)[0]


def test_who_knows_the_truth_scores_one_everywhere(outcomes: list[Outcome]) -> None:
    """Every scene, every rate; and a listener that hears nothing scores nothing."""
    knowing, deaf = outcomes
    assert len(knowing.scenes) == len(PLAYED) - 1
    assert all(pooled.exact.value == 1.0 for pooled in knowing.scenes.values())
    assert all(pooled.exact.value == 0.0 for pooled in deaf.scenes.values())
    assert set(deaf.quiet.values()) == {0.0}


def test_results_are_plain_json_and_a_table(outcomes: list[Outcome]) -> None:
    """Rates keep their counts; the table names every scene and both listeners."""
    data = json.loads(json.dumps(as_data(outcomes)))
    clean = data[0]["scenes"]["listed: clean"]["exact"]
    assert clean["right"] == clean["total"] > 0
    text = report(outcomes, FACTS, SMALL, ["talk, for a reason."])
    assert all(scene.name in text for scene in PLAYED if "talk" not in scene.name)
    for expected in ("## knowing", "## deaf", "Left out: talk, for a reason.", "test_bass"):
        assert expected in text
    widths = {line.count("|") for line in text.splitlines() if "| clean |" in line}
    assert len(widths) == 1


def test_scenes_of_one_style_share_their_takes(studio: Studio) -> None:
    """Clean and phone are recordings of the same playing, so they can be compared."""
    by_name = {(scene.table, scene.name): scene for scene in PLAYED}
    clean, phone = (
        next(iter(record_scene(by_name["listed", name], studio, takes=1, duration_s=8.0)))
        for name in ("clean", "phone")
    )
    assert clean.take == phone.take
    assert not np.array_equal(clean.samples, phone.samples)


def test_recordings_can_be_made_again(studio: Studio) -> None:
    """The same seed gives the same samples."""
    first, second = (
        next(iter(record_scene(PLAYED[4], studio, takes=1, duration_s=8.0))) for _ in range(2)
    )
    assert np.array_equal(first.samples, second.samples)


def test_the_splits_never_share_seeds() -> None:
    """What is settled on train is not quoted on dev, however many takes are run."""
    starts = sorted(FIRST_SEED.values())
    assert starts[1] - starts[0] > 100 * max(FULL.takes, QUICK.takes)


@pytest.mark.parametrize("name", SILENT)
def test_quiet_is_as_long_as_asked(studio: Studio, name: str) -> None:
    """Recordings where nobody plays are finite, right long, and only silence is silent."""
    (recording,) = record_quiet(name, studio, takes=1, duration_s=2.0)
    assert recording.take is None
    assert len(recording.samples) == 2 * RATE_HZ
    peak = float(np.max(np.abs(recording.samples)))
    assert peak == 0.0 if name == "silence" else 0.05 < peak < 1.0


@pytest.mark.skipif(not has_speech(), reason="espeak-ng is not installed")
def test_speech_is_among_the_quiet(studio: Studio) -> None:
    """Somebody talks and nobody plays."""
    (recording,) = record_quiet("speech", studio, takes=1, duration_s=2.0)
    assert np.max(np.abs(recording.samples)) > 0.01


def test_the_command_writes_json_and_markdown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One short scene through the command, with a listener in place of an ear."""
    monkeypatch.setattr("bench.accuracy.make_listeners", lambda ear, **_: [Deaf()])
    monkeypatch.setattr("bench.accuracy.QUICK", SMALL)
    out = tmp_path / "results" / "a.json"
    arguments = ["--bank", str(write_bank(tmp_path / "bank")), "--ear", "general", "--quick"]
    done = CliRunner().invoke(main, [*arguments, "--only", "listed: clean", "--out", str(out)])
    assert done.exit_code == 0, done.output
    made = json.loads(out.read_text(encoding="utf-8"))["made"]
    assert made["instruments"] == {"listed: clean": ["test_piano"]}
    assert "## deaf" in out.with_suffix(".md").read_text(encoding="utf-8")


def test_a_folder_that_is_no_bank_is_told_in_a_sentence(tmp_path: Path) -> None:
    """Bad input ends with a sentence, not a traceback."""
    done = CliRunner().invoke(main, ["--bank", str(tmp_path), "--ear", "general"])
    assert done.exit_code == 1
    assert "holds no instruments.json" in done.output


def test_a_scene_that_does_not_exist_is_told_in_a_sentence(tmp_path: Path) -> None:
    """A mistyped scene says what a right one looks like."""
    bank = str(write_bank(tmp_path / "bank"))
    done = CliRunner().invoke(main, ["--bank", bank, "--ear", "general", "--only", "moon"])
    assert done.exit_code == 1
    assert "listed: clean" in done.output
