"""What stands beside a file of weights: its digest, and what it was made with."""

import json
import subprocess
from hashlib import sha256
from pathlib import Path
from typing import Any

from stackline.shared.files import write_text


def write_card(path: Path, bank: Path, command: str, seeds: str, **more: Any) -> dict[str, Any]:
    """Write the JSON beside `path`, and return it. bank: the folder of notes it was made from."""
    data = path.read_bytes()
    card = {
        "file": path.name,
        "sha256": sha256(data).hexdigest(),
        "bytes": len(data),
        **more,
        "commit": _commit(),
        "command": command,
        "seeds": seeds,
        "bank_sha256": sha256((bank / "instruments.json").read_bytes()).hexdigest(),
    }
    write_text(path.with_suffix(".json"), json.dumps(card, indent=2) + "\n")
    return card


def _commit() -> str:
    asked = ["git", "rev-parse", "--short", "HEAD"]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    return done.stdout.strip() or "not recorded"
