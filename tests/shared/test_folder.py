"""Where a player's things lie: by the XDG base directory specification, and nothing is lost."""

from pathlib import Path

import platformdirs.macos
import pytest

from stackline.shared import folder


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A player's home of its own, with no folder named."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("STACKLINE_HOME", raising=False)
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.chdir(tmp_path)
    return tmp_path


# XDG base directory specification 0.8: "If $XDG_DATA_HOME is either not set or empty, a default
# equal to $HOME/.local/share should be used"; "All paths set in these environment variables must be
# absolute. If an implementation encounters a relative path [it] should [...] ignore it."
@pytest.mark.parametrize("named", [None, "", "relative", "./relative"])
def test_without_an_absolute_folder_it_is_the_usual_one(
    home: Path, monkeypatch: pytest.MonkeyPatch, named: str | None
) -> None:
    """Unset, empty and relative."""
    if named is not None:
        monkeypatch.setenv("XDG_DATA_HOME", named)
    assert folder.data_folder() == home / ".local" / "share" / "stackline"


def test_an_absolute_folder_is_obeyed(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And one of the player's own goes before it."""
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "data"))
    assert folder.library_path() == home / "data" / "stackline" / "library.db"
    monkeypatch.setenv("STACKLINE_HOME", str(home / "own"))
    assert folder.own_targets_path() == home / "own" / "targets.toml"


def test_what_lies_under_a_relative_folder_is_still_read(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Until there is something in the usual place."""
    monkeypatch.setenv("XDG_DATA_HOME", "data")
    (home / "data" / "stackline").mkdir(parents=True)
    assert folder.data_folder() == Path("data") / "stackline"
    usual = home / ".local" / "share" / "stackline"
    usual.mkdir(parents=True)
    assert folder.data_folder() == usual


def test_what_lies_in_a_macs_library_is_still_read(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where XDG_DATA_HOME is set, which newer versions of platformdirs obey on a Mac."""
    monkeypatch.setattr("sys.platform", "darwin")
    monkeypatch.setattr(platformdirs, "PlatformDirs", platformdirs.macos.MacOS)
    old = home / "Library" / "Application Support" / "stackline"
    assert folder.data_folder() == old
    old.mkdir(parents=True)
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "data"))
    assert folder.data_folder() == old
