"""Two players side by side: what each uses, and what one does that the other never does."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.practice.comparing.comparison_text import render, to_data
from stackline.practice.comparing.differences import own
from stackline.practice.comparing.vocabulary_used import vocabulary_used
from stackline.practice.library.library import Library
from stackline.practice.targets.stack import stack_text
from stackline.practice.targets.target_text import parse_target
from stackline.shared.codec.codec_write import to_json
from stackline.shared.take import Take
from tests.support.takes.practice_scenes import TWO_FIVE, played, take_of

II, V, I = TWO_FIVE  # noqa: E741
# The same ii-V-I with a natural 9 on the V and the 13 at the bottom: B E F A, then E G B D.
OTHER = ((53, 57, 60, 64), (59, 64, 65, 69), (52, 55, 59, 62))


def walk(voicings: tuple[tuple[int, ...], ...], keys: tuple[int, ...], number: int) -> Take:
    """The three voicings through some keys."""
    rows: list[tuple[float, tuple[int, ...]]] = []
    for i, key in enumerate(keys):
        rows += played(*voicings, start_s=0.5 + 4 * i, up=key)
    return take_of(rows, name=f"take-{number}.wav", sha256=f"{number:064x}")


KEYS = (0, 5, -2, 3, -4, 1, 6)
MINE = walk(TWO_FIVE, KEYS, 1)
HERS = walk(OTHER, KEYS, 2)


def test_shapes_tensions_and_tops_are_counted() -> None:
    """Seven times F Ab B E as b7 b9 3 13: seven dominants, each with a b9 and a 13."""
    used = vocabulary_used([MINE], "mine")
    assert (used.takes, used.voicings) == (1, 21)
    assert used.shapes["dominant", "b7 b9 3 13"] == 7
    assert used.families["dominant"] == 7
    assert (used.tensions["b9"], used.tensions["13"], used.tensions["9"]) == (7, 7, 0)
    assert used.tops["dominant", "13"] == 7
    assert (used.landed["b9"], used.due["b9"]) == (7, 7)
    assert used.keys["C"] == 3


def test_the_register_is_where_most_notes_lie() -> None:
    """The middle of the lowest and of the highest notes."""
    used = vocabulary_used([walk(TWO_FIVE, (0, 0, 0), 3)], "x")
    assert used.register == (53, 64)
    assert vocabulary_used([], "none").register is None


def test_a_voicing_struck_again_counts_once() -> None:
    """Comping twice on each chord is one choice, not two."""
    rows = played(II, II, V, V, I, I, every_s=0.5)
    assert vocabulary_used([take_of(rows)], "x").voicings == 3


def test_what_is_hardly_heard_is_nobodys_vocabulary() -> None:
    """Notes at 0.4 are left out."""
    assert vocabulary_used([take_of(played(II, V, I), sure=0.4)], "x").voicings == 0


def test_what_one_does_and_the_other_never_comes_with_place_and_drill() -> None:
    """My b9 and my stack on the V; hers has the 3 at the bottom and the natural 9."""
    mine, hers = vocabulary_used([MINE], "mine"), vocabulary_used([HERS], "hers")
    found, back = own(mine, hers), own(hers, mine)
    assert "b9" in found.tensions
    assert "9" in back.tensions
    shape = next(one for one in found.shapes if one.family == "dominant")
    assert (shape.stack, shape.count) == ("b7 b9 3 13", 7)
    assert (shape.example.take, shape.example.onset_s) == ("take-1.wav", pytest.approx(1.5))
    assert shape.example.midi == V
    assert not any(one.stack == "b3 5 b7 9" for one in found.shapes)  # both play it
    for one in (*found.shapes, *back.shapes):
        typed = one.drill.split('"')[1]
        assert stack_text(parse_target(typed).chords[0].stack) == one.stack


def test_too_few_chances_prove_nothing() -> None:
    """She had one dominant: nobody can say that she never plays a b9."""
    mine = vocabulary_used([MINE], "mine")
    short = vocabulary_used([walk(OTHER, (0,), 3)], "hers")
    assert own(mine, short).tensions == ()
    assert own(mine, short).shapes == ()


def test_once_is_no_habit() -> None:
    """What I did a single time is not shown as mine."""
    once = vocabulary_used([walk(TWO_FIVE, (0,), 3)], "mine")
    assert own(once, vocabulary_used([HERS], "hers")).shapes == ()


def test_text_and_data_say_the_same() -> None:
    """Counts, only-here lists and commands."""
    mine, hers = vocabulary_used([MINE], "mine"), vocabulary_used([HERS], "hers")
    text, data = render(mine, hers), to_data(mine, hers)
    assert "A: mine: 1 take, 21 voicings" in text
    assert "b7 b9 3 13 (7)" in text
    assert "What A does and B never:" in text
    assert data["a"]["tensions"]["b9"] == {"count": 7, "due": 7, "landed": 7}
    for one in data["a"]["only_here"]["shapes"]:
        assert one["drill"] in text


def test_the_command_takes_files_folders_and_days(tmp_path: Path) -> None:
    """A file against a folder; a month of the library against another; what is none is told."""
    home = tmp_path / "home"
    runner = CliRunner(env={"STACKLINE_HOME": str(home)})
    folder = tmp_path / "hers"
    folder.mkdir()
    (folder / "one.json").write_text(to_json(HERS))
    (folder / "two.json").write_text(to_json(walk(OTHER, (2,), 4)))
    mine = tmp_path / "mine.json"
    mine.write_text(to_json(MINE))
    told = runner.invoke(commands, ["compare", str(mine), str(folder), "--json"])
    data = json.loads(told.output)
    assert (data["a"]["takes"], data["b"]["takes"], data["b"]["voicings"]) == (1, 2, 24)
    with Library(home / "library.db") as kept:
        kept.add(MINE, played_on="2026-02-03")
        kept.add(HERS, played_on="2026-03-09")
    months = ["2026-02-01..2026-02-28", "2026-03-01..2026-03-31"]
    shown = runner.invoke(commands, ["compare", *months])
    assert "What B does and A never:" in shown.output
    page = tmp_path / "side.html"
    written = runner.invoke(commands, ["compare", *months, "--page", str(page)])
    assert written.exit_code == 0, written.output
    html = page.read_text()
    assert "What A does and B never" in html
    assert "stackline drill --changes" in html
    none = runner.invoke(commands, ["compare", "2025-02-01..2025-02-28", str(mine)])
    assert "has no takes from" in str(none.exception)
    empty = tmp_path / "empty"
    empty.mkdir()
    assert "holds no takes" in str(
        runner.invoke(commands, ["compare", str(mine), str(empty)]).exception
    )
    wrong = runner.invoke(commands, ["compare", "2026-02-30..2026-03-01", str(mine)])
    assert "not a valid date" in str(wrong.exception)
