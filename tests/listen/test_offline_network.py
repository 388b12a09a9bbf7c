"""Nothing is reported to anybody when a network runs."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
HEAR = """
from pathlib import Path
from stackline.listen.piano.piano_ear import WEIGHTS
from stackline.listen.offline_network import open_network
print(open_network(WEIGHTS).get_inputs()[0].name)
"""


def test_opening_a_network_leaves_no_identifier_behind(tmp_path: Path) -> None:
    """The runtime's reporter, where it has one, writes a session file when it is on.

    Seen with onnxruntime 1.32: without the opt-out `.ses` appears in the temporary folder.
    """
    environment = {key: value for key, value in os.environ.items() if "TELEMETRY" not in key}
    result = subprocess.run(
        [sys.executable, "-c", HEAR],
        env=environment | {"PYTHONPATH": str(ROOT), "TMPDIR": str(tmp_path), "HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert result.stdout.strip() == "features"
    assert list(tmp_path.rglob("*")) == []
