"""The public names from Python: the documented examples run, and they get in nobody's way."""

import os
import runpy
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

import stackline
from stackline.shared.complaint import Complaint
from tests.support.places import ROOT
from tests.support.takes.sample_take import sample_take

SCRIPT = runpy.run_path(str(ROOT / "scripts" / "make_python_page.py"))
EXAMPLES: dict[str, str] = SCRIPT["EXAMPLES"]
SAID = {
    "Hear a recording": "Dm",
    "Hear samples": "notes",
    "Read notes that you already have": "b3 5 b7 9",
    "Write every format": "warmup.json",
    "Have a take back": "",
}


def run(code: str, folder: Path) -> str:
    """What a script prints that stands in a folder, as a player would start it."""
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The bundled recording, and a second of silence, where the examples look for them."""
    place = tmp_path_factory.mktemp("examples")
    (place / "fixtures").mkdir()
    shutil.copy(ROOT / "fixtures" / "warmup.m4a", place / "fixtures")
    soundfile.write(place / "take.wav", np.zeros((22_050, 2), np.float32), 22_050)
    return place


def test_the_documented_examples_run_one_after_the_other(folder: Path) -> None:
    """Each example of docs/python.md, in its order."""
    assert list(EXAMPLES) == list(SAID)
    for title, code in EXAMPLES.items():
        assert SAID[title] in run(code, folder), title


def test_the_page_is_up_to_date() -> None:
    """docs/python.md holds the docstrings as they are."""
    made = SCRIPT["page"]()
    assert (ROOT / "docs" / "python.md").read_text(encoding="utf-8") == made, (
        "run: python scripts/make_python_page.py"
    )


def test_every_public_name_is_there_and_documented() -> None:
    """No name of __all__ is missing, and the page speaks of each."""
    page = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
    for name in stackline.__all__:
        assert getattr(stackline, name) is not None
        assert name.startswith("_") or name in page
    assert set(stackline.__all__) <= set(dir(stackline))
    with pytest.raises(AttributeError, match="no attribute 'listen_to'"):
        _ = stackline.listen_to


@pytest.mark.parametrize("name", ["shared", "listen", "theory", "report", "practice"])
def test_a_player_s_file_named_like_a_room_breaks_nothing(name: str, tmp_path: Path) -> None:
    """A report.py beside a script is the script's own, and ours is still ours."""
    (tmp_path / f"{name}.py").write_text("raise RuntimeError('not this one')\n")
    code = (
        "import stackline\n"
        "from stackline.report.outputs import FORMATS\n"
        "from stackline.shared.take import Take\n"
        "from stackline.theory.reading import read\n"
        "print('json' in FORMATS, stackline.Take is Take)"
    )
    assert run(code, tmp_path).split() == ["True", "True"]


def test_samples_of_any_usual_kind_are_one_recording() -> None:
    """Floats, integers, one channel or two: the same sound gives the same take."""
    rate = 16_000
    tone = 0.5 * np.sin(2 * np.pi * 440.0 * np.arange(rate) / rate)
    whole = np.round(tone * 32_768).astype(np.int16)
    one = stackline.hear(whole, rate)
    two = stackline.hear(np.stack([whole, whole], axis=1), rate)
    other = stackline.hear(whole / 32_768, rate)
    assert one.notes == two.notes == other.notes
    assert one.source.duration_s == 1.0
    assert len({one.source.sha256, two.source.sha256, other.source.sha256}) == 3


@pytest.mark.parametrize(
    ("samples", "rate_hz", "said"),
    [
        (np.zeros(0), 44_100, "not a recording"),
        (np.zeros((3, 2, 2)), 44_100, "not a recording"),
        (np.array(["a"]), 44_100, "are not read"),
        (np.zeros(9, complex), 44_100, "are not read"),
        (np.zeros(9), 0, "a sample rate of 0 Hz is out of range"),
        (np.array([0.0, np.nan]), 44_100, "not finite"),
    ],
)
def test_what_is_no_recording_is_refused_in_a_sentence(
    samples: np.ndarray, rate_hz: int, said: str
) -> None:
    """An empty array, words, complex numbers, a rate of nothing, no numbers."""
    with pytest.raises(Complaint, match=said):
        stackline.hear(samples, rate_hz)


def test_read_notes_gives_the_take_that_a_hearing_of_these_notes_would() -> None:
    """The sample take's notes and beats, read again: the same voicings and motions."""
    take = sample_take()
    again = stackline.read_notes(reversed(take.notes), beats=take.grid)
    assert again.notes == take.notes
    assert [v.attack.struck for v in again.voicings] == [
        a.struck for a in again.attacks if any(v.attack == a for v in again.voicings)
    ]
    assert again.ear == "given notes"
    assert stackline.from_json(stackline.to_json(again)) == again
