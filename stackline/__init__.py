"""stackline: a recording of comping in, its voicings and their motion out.

The public API is one call, ``stackline.transcribe(path) -> Take``. Rooms are imported when
they are needed, so that the command line answers at once.
"""

from typing import TYPE_CHECKING, Any

from stackline.version import __version__

__all__ = ["__version__", "transcribe"]

if TYPE_CHECKING:
    from stackline.pipeline import transcribe


def __getattr__(name: str) -> Any:
    if name == "transcribe":
        from stackline.pipeline import transcribe

        return transcribe
    raise AttributeError(f"module 'stackline' has no attribute {name!r}")
