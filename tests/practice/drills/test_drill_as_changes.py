"""What a drill prints and writes is read back as its changes: the text, and the score.

The score goes out through our MusicXML, which `tests/report/notation/test_musicxml` holds against
other readers.
"""

from fractions import Fraction
from pathlib import Path

import pytest

from stackline.options.hints import read_changes
from stackline.practice.drills.drill import Drill, make_drill
from stackline.practice.drills.drill_take import as_take
from stackline.practice.drills.drill_text import render
from stackline.practice.targets.target_file import built_in
from stackline.practice.targets.target_text import parse_target
from stackline.practice.targets.targets import Target
from stackline.report.notation import musicxml_file
from stackline.report.words.take_view import TakeView
from stackline.theory.sheet.changes import Changes, place_chords
from stackline.theory.sheet.printed_changes import changes_below, in_bars

KEYS = (0, 5, 10, 6)


def _meant(drill: Drill) -> list[tuple[str, Fraction]]:
    """Chords of all keys with their beats; the last of a key fills its bar."""
    found = []
    for placed in drill.keys:
        chords = [(one.symbol(placed.key).text, one.beats) for one in drill.target.chords]
        whole = drill.bars_per_key * drill.beats_per_bar - sum(drill.target.beats)
        chords[-1] = (chords[-1][0], chords[-1][1] + whole)
        found += chords
    return found


def _read(changes: Changes, beats_per_bar: int) -> list[tuple[str, Fraction]]:
    """The chords of changes with their beats, one after the other."""
    found: list[tuple[str, Fraction]] = []
    for one in place_chords(changes, beats_per_bar):
        text = one.symbol.text if one.symbol else "N.C."
        if found and found[-1][0] == text:
            found[-1] = (text, found[-1][1] + one.beats)
        else:
            found.append((text, one.beats))
    return found


def _joined(chords: list[tuple[str, Fraction]]) -> list[tuple[str, Fraction]]:
    """Neighbours of one name as one."""
    found: list[tuple[str, Fraction]] = []
    for text, beats in chords:
        if found and found[-1][0] == text:
            found[-1] = (text, found[-1][1] + beats)
        else:
            found.append((text, beats))
    return found


@pytest.mark.parametrize("target", built_in(), ids=lambda one: one.name)
def test_every_drill_text_is_read_back(target: Target, tmp_path: Path) -> None:
    """Symbols and lengths, key after key, from the file that the terminal's text was kept in."""
    drill = make_drill(target, KEYS)
    path = tmp_path / "drill.txt"
    path.write_text(render(drill), encoding="utf-8")
    changes = read_changes(str(path))
    assert changes is not None
    assert _read(changes, 4) == _joined(_meant(drill))


@pytest.mark.parametrize("name", ["major ii-V-I, shells", "turnaround, rootless"])
def test_a_drills_score_is_read_back(name: str, tmp_path: Path) -> None:
    """The same chords in the same order."""
    target = next(one for one in built_in() if one.name == name)
    drill = make_drill(target, KEYS, count_in=0)
    path = tmp_path / "drill.musicxml"
    path.write_text(musicxml_file.render(TakeView(as_take(drill, version="0"))), encoding="utf-8")
    changes = read_changes(str(path))
    assert changes is not None
    names = [text for text, _ in _read(changes, 4) if text != "N.C."]
    assert names == [text for text, _ in _joined(_meant(drill))]


def test_a_drill_in_three_keeps_its_meter(tmp_path: Path) -> None:
    """Bars of three, said in the first line."""
    drill = make_drill(parse_target("IIm9 | V13 | Imaj9"), KEYS, beats_per_bar=3)
    path = tmp_path / "drill.txt"
    path.write_text(render(drill), encoding="utf-8")
    changes = read_changes(str(path))
    assert changes is not None
    assert changes.beats_per_bar == 3
    assert _read(changes, 3) == _joined(_meant(drill))


@pytest.mark.parametrize(
    ("chords", "bars"),
    [
        ([("Dm9", 4), ("G13", 4), ("C6/9", 8)], "| Dm9 | G13 | C6/9 |  |"),
        ([("C", 3), ("G7", 1)], "| C / / G7 |"),
        ([("C", 2), ("G7", 2)], "| C / G7 / |"),
        ([("C", 6), ("G7", 2)], "| C | / / G7 / |"),
        ([("C", Fraction(3, 2)), ("G7", Fraction(5, 2))], None),
        ([("C", 3)], None),
    ],
)
def test_chords_in_bars(chords: list[tuple[str, int]], bars: str | None) -> None:
    """As docs/changes.md says that they are read."""
    assert in_bars([(name, Fraction(beats)) for name, beats in chords], 4) == bars


def test_other_texts_are_left_alone() -> None:
    """A lead sheet without the mark."""
    assert changes_below("| C | F |\n| G7 | C |") == "| C | F |\n| G7 | C |"
    assert changes_below("table\n\nChanges:\n| C |\n| F |\n\nmore") == "| C |\n| F |"
