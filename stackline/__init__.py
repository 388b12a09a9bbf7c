"""stackline: a recording of comping in, its voicings and their motion out.

The public API is one call, ``stackline.transcribe(path) -> Take``. Rooms are imported when
they are needed, so that the command line answers at once.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from stackline.version import __version__

_TREE = Path(__file__).parent.parent
if (_TREE / "pyproject.toml").is_file():  # a source tree: the rooms stand beside this folder
    __path__.append(str(_TREE))

__all__ = ["__version__", "transcribe"]

if TYPE_CHECKING:
    from stackline.pipeline import transcribe


def __getattr__(name: str) -> Any:
    if name == "transcribe":
        from stackline.pipeline import transcribe

        return transcribe
    raise AttributeError(f"module 'stackline' has no attribute {name!r}")
