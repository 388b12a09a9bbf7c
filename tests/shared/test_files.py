"""Outputs never harm what was there: links, devices, pipes, folders, full disks."""

import os
import stat
import threading
from pathlib import Path

import pytest

from stackline.shared.complaint import Complaint
from stackline.shared.files import beside, read_text, stream_number, write_text

posix = pytest.mark.skipif(os.name != "posix", reason="devices and pipes of POSIX")


def test_a_link_stays_and_what_it_points_at_is_written(tmp_path: Path) -> None:
    """Also where that is not there yet, and through two links."""
    real, link, second = tmp_path / "real.json", tmp_path / "link.json", tmp_path / "second.json"
    link.symlink_to("real.json")
    second.symlink_to(link)
    for text in ("first", "second"):
        write_text(second, text)
        assert real.read_text() == text
    assert link.is_symlink()
    assert second.is_symlink()
    assert sorted(one.name for one in tmp_path.iterdir()) == [link.name, real.name, second.name]


def test_links_in_a_circle_are_told(tmp_path: Path) -> None:
    """There is nothing to write to."""
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises(Complaint, match="cannot write"):
        write_text(tmp_path / "a", "x")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    """Nor is one behind a link; both stay."""
    (tmp_path / "folder").mkdir()
    (tmp_path / "link").symlink_to("folder")
    for name in ("folder", "link"):
        with pytest.raises(Complaint, match="it is a folder; name a file in it"):
            write_text(tmp_path / name, "x")
    assert (tmp_path / "link").is_symlink()


@posix
def test_a_device_is_written_to_and_stays(tmp_path: Path) -> None:
    """/dev/null takes anything and is still a device, as root too."""
    write_text(Path("/dev/null"), "x")
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)


@posix
def test_a_pipe_is_written_to_and_stays(tmp_path: Path) -> None:
    """Who reads at the other end gets all of it, and only when it is made."""
    pipe, got = tmp_path / "pipe", []
    os.mkfifo(pipe)
    reader = threading.Thread(target=lambda: got.append(pipe.read_text()))
    reader.start()
    write_text(pipe, "x" * 100_000)
    reader.join(10)
    assert got == ["x" * 100_000]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@posix
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_device_is_told() -> None:
    """ENOSPC, as the kernel's /dev/full gives it for every write (full(4))."""
    with pytest.raises(Complaint, match="cannot write /dev/full: No space left on device"):
        write_text(Path("/dev/full"), "x")


def test_a_disk_that_fills_up_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The half-written file goes, the old one stays."""
    path = tmp_path / "take.json"
    write_text(path, "old")

    def full(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(Complaint, match=r"cannot write .*take.json: No space left on device"):
        write_text(path, "new")
    assert [one.name for one in tmp_path.iterdir()] == ["take.json"]
    assert path.read_text() == "old"


@posix
def test_a_file_keeps_its_mode_and_may_be_closed_to_writing(tmp_path: Path) -> None:
    """What was private stays private; what may not be changed is not."""
    path = tmp_path / "take.json"
    write_text(path, "a")
    path.chmod(0o600)
    write_text(path, "b")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    path.chmod(0o400)
    if os.geteuid() != 0:  # root may write anywhere
        with pytest.raises(Complaint, match="it may not be changed"):
            write_text(path, "c")


def test_a_long_name_is_written(tmp_path: Path) -> None:
    """255 bytes, as long as names may be on usual file systems."""
    write_text(tmp_path / ("n" * 255), "x")
    with pytest.raises(Complaint, match="cannot write"):
        write_text(tmp_path / ("n" * 256), "x")


def test_an_interrupt_leaves_nothing(tmp_path: Path) -> None:
    """Neither the file nor its beginnings."""
    with pytest.raises(KeyboardInterrupt):
        _interrupted(tmp_path / "a")
    assert list(tmp_path.iterdir()) == []


def _interrupted(path: Path) -> None:
    with beside(path) as temporary:
        temporary.write_text("half")
        raise KeyboardInterrupt


@pytest.mark.parametrize(
    ("path", "number"),
    [("/dev/stdout", 1), ("/dev/stderr", 2), ("/dev/fd/7", 7), ("/proc/self/fd/1", 1),
     ("/dev/null", None), ("stdout", None)],
)  # fmt: skip
def test_streams_have_names(path: str, number: int | None) -> None:
    """As Linux and the BSDs call them."""
    assert stream_number(path) == number


def test_text_is_read_or_told(tmp_path: Path) -> None:
    """Too large, not UTF-8, a folder, not there; a byte-order mark is passed over."""
    path = tmp_path / "a.txt"
    path.write_bytes(b"\xef\xbb\xbfDm9")
    assert read_text(path, "a text file", most_bytes=100) == "Dm9"
    path.write_bytes(b"\xff\xfeD\0")
    with pytest.raises(Complaint, match=r"a\.txt: cannot be read as a text file \(it is not UTF-8"):
        read_text(path, "a text file", most_bytes=100)
    path.write_bytes(b"x" * 2**20 + b"x")
    with pytest.raises(Complaint, match="it is larger than 1 MB"):
        read_text(path, "a text file", most_bytes=2**20)
    with pytest.raises(Complaint, match="Is a directory"):
        read_text(tmp_path, "a text file", most_bytes=100)
    with pytest.raises(Complaint, match="No such file"):
        read_text(tmp_path / "none", "a text file", most_bytes=100)


@posix
def test_a_device_without_an_end_is_not_read_for_ever() -> None:
    """/dev/zero gives as much as is asked for."""
    with pytest.raises(Complaint, match="larger than"):
        read_text(Path("/dev/zero"), "a text file", most_bytes=2**20)
