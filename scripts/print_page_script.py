"""Print the one script of a take's page as it is put together, for the linter in scripts/check."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from stackline.report.html import asset
from stackline.report.page.page import SCRIPTS

if __name__ == "__main__":
    print("".join(asset(name) for name in SCRIPTS), end="")
