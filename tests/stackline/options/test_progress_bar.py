"""The progress bar on a terminal: its clock goes on from stage to stage."""

import io
import sys
import time

import pytest

from stackline.options.progress_bar import shown


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_the_clock_goes_on_after_a_stage_is_full(monkeypatch: pytest.MonkeyPatch) -> None:
    """A second after the first stage reached its end the clock shows it."""
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    with shown("take.wav") as progress:
        progress("reading the recording", 1.0)
        time.sleep(1.3)
        progress("hearing", 0.0)
    assert "0:00:01" in screen.getvalue()


def test_pipes_stay_clean(capsys: pytest.CaptureFixture[str]) -> None:
    """No terminal, no bar."""
    with shown("take.wav") as progress:
        progress("reading the recording", 1.0)
    assert capsys.readouterr().err == ""
