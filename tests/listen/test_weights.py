"""What is learnt says where it comes from, and is the file that is meant."""

import hashlib
import json
from pathlib import Path

import pytest

from tests.support.places import ROOT

WEIGHTS = sorted(path for kind in ("npz", "onnx") for path in (ROOT / "listen").rglob(f"*.{kind}"))
KNOWN = {"file", "sha256", "bytes", "commit", "command", "seeds", "bank_sha256"}


def test_there_are_weights() -> None:
    """The tests below check something: a network for each ear at least."""
    assert {"piano_ear.onnx", "general_ear.onnx"} <= {path.name for path in WEIGHTS}


@pytest.mark.parametrize("path", WEIGHTS, ids=lambda path: path.name)
def test_weights_have_their_provenance_beside_them(path: Path) -> None:
    """A JSON of the same name: digest, commit, command, seeds, bank ("not recorded" if unknown)."""
    beside = path.with_suffix(".json")
    assert beside.is_file(), f"{beside.name} is missing beside {path.name}"
    facts = json.loads(beside.read_text(encoding="utf-8"))
    assert set(facts) >= KNOWN, KNOWN - set(facts)
    assert facts["file"] == path.name
    assert facts["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
    assert facts["bytes"] == path.stat().st_size
    assert all(facts[name] for name in KNOWN)
