"""Where a result comes from: commit, versions, machine."""

import os
import platform
import subprocess
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGES = ("numpy", "scipy", "librosa", "onnxruntime", "soxr", "mir_eval")


def provenance() -> dict[str, object]:
    """Facts that a reader needs to make a result again; no host or user names."""
    return {
        "commit": _git("rev-parse", "--short", "HEAD") or "not committed",
        "changed_since": bool(_git("status", "--porcelain", "--untracked-files=no")),
        "python": platform.python_version(),
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores",
        "packages": {name: _version(name) for name in PACKAGES},
    }


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def _git(*arguments: str) -> str:
    """Output of a git command in the tree; empty where there is no git or no commit."""
    try:
        done = subprocess.run(
            ["git", *arguments], cwd=ROOT, capture_output=True, text=True, check=False
        )
    except OSError:
        return ""
    return done.stdout.strip() if done.returncode == 0 else ""
