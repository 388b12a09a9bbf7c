"""Pages in Firefox, steered by its own Marionette protocol: no driver is needed.

Messages are JSON with their length and a colon before them: ``[0, number, command, parameters]``
out, ``[1, number, error, result]`` back (Firefox source documentation, "Marionette protocol").
"""

import base64
import json
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

FIREFOX = shutil.which("firefox-esr") or shutil.which("firefox")
NEEDS_FIREFOX = [
    pytest.mark.browser,
    pytest.mark.skipif(FIREFOX is None, reason="there is no Firefox here"),
]
PATIENCE_S = 90


class Firefox:
    """One window. `run` evaluates a script's body, `printed` gives the page as PDF on A4."""

    def __init__(self, port: int) -> None:
        self._socket = _connected(port)
        self._number = 0
        self._received()  # it introduces itself
        self._call("WebDriver:NewSession", {"capabilities": {}})

    def open(self, path: Path) -> None:
        """Go to a file; returns when it is loaded."""
        self._call("WebDriver:Navigate", {"url": path.as_uri()})

    def run(self, body: str) -> Any:
        """What a function with this body returns in the page."""
        return self._call("WebDriver:ExecuteScript", {"script": body, "args": []})["value"]

    def printed(self) -> bytes:
        """The page on A4 as PDF."""
        sheet = {"background": True, "page": {"width": 21, "height": 29.7}}
        return base64.b64decode(self._call("WebDriver:Print", sheet)["value"])

    def close(self) -> None:
        """Let go of it."""
        self._socket.close()

    def _call(self, command: str, parameters: dict[str, Any]) -> Any:
        self._number += 1
        message = json.dumps([0, self._number, command, parameters]).encode()
        self._socket.sendall(str(len(message)).encode() + b":" + message)
        _, _, error, result = self._received()
        assert error is None, error
        return result

    def _received(self) -> Any:
        length = b""
        while (char := self._socket.recv(1)) != b":":
            assert char, "Firefox has ended"
            length += char
        data = b""
        while len(data) < int(length):
            data += self._socket.recv(int(length) - len(data))
        return json.loads(data)


def _connected(port: int) -> socket.socket:
    for _ in range(PATIENCE_S * 4):
        try:
            found = socket.create_connection(("127.0.0.1", port), 5)
        except OSError:
            time.sleep(0.25)
        else:
            found.settimeout(PATIENCE_S)
            return found
    raise AssertionError("Firefox did not start")


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@contextmanager
def firefox(folder: Path) -> Iterator[Firefox]:
    """A Firefox without window, with a profile of its own in the folder; ended with the block."""
    port, profile = _free_port(), folder / "profile"
    profile.mkdir()
    (profile / "user.js").write_text(f'user_pref("marionette.port", {port});\n', encoding="utf-8")
    process = subprocess.Popen(
        [str(FIREFOX), "--headless", "--marionette", "--no-remote", "--profile", str(profile)],
        env=os.environ | {"HOME": str(profile)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    window = None
    try:
        window = Firefox(port)
        yield window
    finally:
        if window is not None:
            window.close()
        process.kill()
        process.wait()
