"""Opening a media file to read, on every PyAV that is allowed.

Titles and artists in a file may be in any encoding. PyAV refuses such a file unless it is told to
pass over what is not UTF-8; from version 19 on it keeps the bytes by itself and no longer knows
the argument.
"""

from pathlib import Path
from typing import Any

import av
from av.container import InputContainer

_KEEPS_ANY_TITLE = 19  # the first major version that does


def open_media(path: Path) -> InputContainer:
    """The file, opened to read; raises what `av.open` raises."""
    passed_over: dict[str, Any] = {"metadata_errors": "ignore"}
    major = int(av.__version__.split(".")[0])
    return av.open(str(path), **({} if major >= _KEEPS_ANY_TITLE else passed_over))
