"""``stackline booklet``: takes kept as JSON, or a folder of them, become one PDF."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from tests.support.readers.printed import read
from tests.support.takes.sample_take import gridless_take, sample_take

pytest.importorskip("typst")


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A folder with two takes kept as JSON."""
    folder = tmp_path / "kept"
    folder.mkdir()
    for take in (sample_take(), gridless_take()):
        (folder / f"{take.source.name}.json").write_text(to_json(take), encoding="utf-8")
    return folder


def run(*typed: object) -> str:
    """What the command prints."""
    done = CliRunner().invoke(commands, ["booklet", *map(str, typed)], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


def test_a_folder_becomes_one_booklet(kept: Path, tmp_path: Path) -> None:
    """Contents, and a page or more for each."""
    file = tmp_path / "lesson.pdf"
    assert run(kept, "-o", file, "--title", "Week 3") == f"wrote {file}\n"
    pages = read(file.read_bytes()).pages
    assert len(pages) >= 3
    assert "Week 3" in pages[0].extract_text()


def test_bad_input_writes_nothing(kept: Path, tmp_path: Path) -> None:
    """An empty folder, a file that is no take, an output that is read: one sentence each."""
    file, empty = tmp_path / "lesson.pdf", tmp_path / "empty"
    empty.mkdir()
    broken = tmp_path / "broken.json"
    broken.write_text("{", encoding="utf-8")
    take = next(kept.iterdir())
    before = take.read_bytes()
    for typed in ((empty,), (kept, broken), (take, "-o", take)):
        with pytest.raises(Complaint):
            run(*typed, *(() if "-o" in typed else ("-o", file)))
    assert not file.exists()
    assert take.read_bytes() == before
