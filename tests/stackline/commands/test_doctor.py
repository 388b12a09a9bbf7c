"""What the doctor finds missing, spoiled or closed, and what it says to type."""

import json
import shutil
import sys
from importlib import metadata
from pathlib import Path

import pytest

from stackline import listen
from stackline.commands.doctor_command import Finding, examine
from stackline.listen.offline_network import open_network
from stackline.shared.complaint import Complaint
from tests.support.places import ROOT


def _finding(thing: str) -> Finding:
    return next(one for one in examine() if one.thing == thing)


@pytest.fixture
def ears(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the ears, to be spoiled."""
    copy = tmp_path / "listen"
    shutil.copytree(ROOT / "listen", copy)
    monkeypatch.setattr(listen, "__path__", [str(copy)])
    return copy


def test_weights_are_as_shipped(ears: Path) -> None:
    """Each card's file is there with its digest."""
    assert _finding("weights").fine


def test_a_spoiled_and_a_missing_file_of_weights_are_named(ears: Path) -> None:
    """A byte more, and a file less."""
    network = ears / "piano" / "weights" / "piano_ear.onnx"
    network.write_bytes(network.read_bytes() + b"x")
    (ears / "piano" / "weights" / "piano_trust.npz").unlink()
    found = _finding("weights")
    assert not found.fine
    assert found.needed
    assert "piano_ear.onnx is not the file that was shipped" in found.found
    assert "piano_trust.npz is missing" in found.found
    assert "pip install --force-reinstall ." in found.fix


def test_a_network_that_cannot_be_opened_is_a_sentence(tmp_path: Path) -> None:
    """Nonsense, and nothing at all."""
    (tmp_path / "a.onnx").write_bytes(b"no network")
    for name in ("a.onnx", "b.onnx"):
        with pytest.raises(Complaint, match=rf"the network {name} cannot be opened"):
            open_network(tmp_path / name)


def test_printing_that_is_not_installed_is_absent(monkeypatch: pytest.MonkeyPatch) -> None:
    """With what to type in a clone, and what to do where there is no wheel."""
    known = metadata.version

    def without(name: str) -> str:
        if name == "typst":
            raise metadata.PackageNotFoundError(name)
        return known(name)

    monkeypatch.setattr(metadata, "version", without)
    found = _finding("PDF (typst)")
    assert (found.fine, found.needed) == (False, False)
    assert 'pip install ".[pdf]"' in found.fix


def test_a_library_that_is_there_and_cannot_be_imported(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As after half an upgrade."""
    (tmp_path / "mido.py").write_text("raise RuntimeError('built for another Python')\n")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "mido", raising=False)
    found = _finding("mido")
    assert not found.fine
    assert "built for another Python" in found.found


def test_the_folder_of_the_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """There, to be made, or where nothing can be made."""
    monkeypatch.setenv("STACKLINE_HOME", str(tmp_path))
    assert _finding("library folder").found == str(tmp_path)
    monkeypatch.setenv("STACKLINE_HOME", str(tmp_path / "new"))
    assert "not made yet" in _finding("library folder").found
    (tmp_path / "file").touch()
    monkeypatch.setenv("STACKLINE_HOME", str(tmp_path / "file" / "home"))
    found = _finding("library folder")
    assert not found.fine
    assert "STACKLINE_HOME" in found.fix


def test_every_card_names_its_file() -> None:
    """The doctor reads the cards; one without a digest would be passed over."""
    weights = [path for kind in ("npz", "onnx") for path in (ROOT / "listen").rglob(f"*.{kind}")]
    assert len(weights) > 5
    for path in weights:
        card = path.with_suffix(".json")
        assert {"file", "sha256"} <= set(json.loads(card.read_text(encoding="utf-8")))
