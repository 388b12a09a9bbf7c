"""The command as a whole process, as a player starts it."""

import os
import subprocess
import sys
from pathlib import Path

from tests.support.places import ROOT


def stackline(*words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run the command as a whole process, as a player does."""
    return subprocess.run(
        [sys.executable, "-m", "stackline", *words],
        capture_output=True,
        text=True,
        cwd=cwd or ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        timeout=300,
        check=False,
    )
