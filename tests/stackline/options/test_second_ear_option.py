"""``transcribe --second-ear``: asks for the large ear, and passes both on."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from stackline import ears
from stackline.cli import commands
from stackline.ears import make_ear, with_second
from stackline.shared.complaint import Complaint


def test_without_the_package_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One sentence on what to install, before anything is heard."""
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    out = tmp_path / "out"
    done = CliRunner().invoke(commands, ["transcribe", "take.wav", "--second-ear", "-o", str(out)])
    assert isinstance(done.exception, Complaint)
    assert "pip install 'stackline[large]'" in str(done.exception)
    assert not out.exists()


def test_an_ear_does_not_doubt_itself() -> None:
    """The large ear as its own second ear is refused, with the reason."""
    with pytest.raises(Complaint, match="doubt itself"):
        with_second("large")


def test_the_first_ear_gives_the_notes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The take says who heard it and who doubted it."""
    monkeypatch.setitem(ears.EARS, "large", ears.EARS["general"])
    both = with_second("piano")
    assert both.name == f"{make_ear('piano').name}, doubted by {make_ear('general').name}"
    assert both.sample_rate_hz == make_ear("piano").sample_rate_hz
