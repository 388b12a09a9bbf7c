"""stackline: a recording of comping in, its voicings and their motion out.

What stands in ``__all__`` is the public API, described in docs/python.md: `transcribe` a file,
`hear` samples, `read_notes` that are already there, `write` a take as any of its formats, and
`from_json` to have it back. Everything else may change from one version to the next. Rooms are
imported when they are needed, so that the command line answers at once.

In a source tree the rooms stand beside this folder; installed, they lie inside it.
"""

import sys

try:
    from stackline import stopping
except KeyboardInterrupt:  # there is no handler yet
    sys.exit("stackline: interrupted; nothing half-written was left")

if stopping.is_the_command():
    stopping.end_at_once()

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stackline.version import __version__

_TREE = Path(__file__).parent.parent
if (_TREE / "pyproject.toml").is_file():
    __path__.append(str(_TREE))

if TYPE_CHECKING:
    from stackline.ears import EARS
    from stackline.listen.time.time_hints import TimeHints
    from stackline.pipeline import hear, read_notes, transcribe
    from stackline.report.outputs import FORMATS, write
    from stackline.shared.codec.codec_read import from_json
    from stackline.shared.codec.codec_write import to_json
    from stackline.shared.complaint import Complaint
    from stackline.shared.notes import Beat, BeatGrid, Note
    from stackline.shared.take import Take
    from stackline.theory.sheet.changes_text import parse_changes

_HOMES = {
    "transcribe": "pipeline",
    "hear": "pipeline",
    "read_notes": "pipeline",
    "write": "report.outputs",
    "FORMATS": "report.outputs",
    "EARS": "ears",
    "Take": "shared.take",
    "Note": "shared.notes",
    "Beat": "shared.notes",
    "BeatGrid": "shared.notes",
    "TimeHints": "listen.time.time_hints",
    "Complaint": "shared.complaint",
    "parse_changes": "theory.sheet.changes_text",
    "from_json": "shared.codec.codec_read",
    "to_json": "shared.codec.codec_write",
}

__all__ = [
    "EARS",
    "FORMATS",
    "Beat",
    "BeatGrid",
    "Complaint",
    "Note",
    "Take",
    "TimeHints",
    "__version__",
    "from_json",
    "hear",
    "parse_changes",
    "read_notes",
    "to_json",
    "transcribe",
    "write",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'stackline' has no attribute {name!r}")
    return getattr(import_module(f"stackline.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
