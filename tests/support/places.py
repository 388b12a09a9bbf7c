"""Where the tree, the tests' data and the golden files stand."""

from pathlib import Path

ROOT = Path(__file__).parents[2]
DATA = ROOT / "tests" / "data"
GOLDEN = ROOT / "tests" / "golden"
