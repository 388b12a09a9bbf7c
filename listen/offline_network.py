"""Opening a neural network for running, with nothing sent anywhere.

Since 1.29 onnxruntime's builds for Linux and macOS report use to their maker by default: an
identifier on disk, events over the network, from the moment the library loads
(microsoft/onnxruntime pull request 27379). Recordings, and word of them, stay on this
machine. ORT_DISABLE_TELEMETRY, set before the library loads, is its full opt-out there; on
Windows the library's own call is.
"""

import os
from pathlib import Path
from typing import TYPE_CHECKING

from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from onnxruntime import InferenceSession

os.environ["ORT_DISABLE_TELEMETRY"] = "1"

_ERRORS_ONLY = 3  # onnxruntime's severity of errors


def open_network(path: Path, *, threads: int = 0) -> "InferenceSession":
    """A session on the CPU for an ONNX file. threads: within one run; 0 lets it choose.

    Raises Complaint where the file cannot be opened.
    """
    import onnxruntime

    onnxruntime.disable_telemetry_events()
    options = onnxruntime.SessionOptions()
    options.log_severity_level = _ERRORS_ONLY
    options.intra_op_num_threads = threads
    # Threads that wait would keep a core busy: beside other work hearing takes longer for it.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    try:
        return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except Exception as error:  # its errors have no base of their own
        said = " ".join(str(error).split())[:80]
        raise Complaint(
            f"the network {path.name} cannot be opened ({said}); install stackline again, "
            "in a clone with: pip install --force-reinstall ."
        ) from error
