"""Sections in the library: takes of their own that know their place, each kept once."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from stackline.practice.library.corrections import Correction
from stackline.practice.library.library import Library
from stackline.practice.library.rows.section_places import remember, was_heard
from stackline.shared.notes import CutFrom
from stackline.shared.take import Take
from tests.support.takes.sample_take import sample_take

RECORDING = "ab" * 32


def section(start_s: float, end_s: float, sha256: str, *, number: int = 1) -> Take:
    """The sample take as a section of an evening."""
    take = sample_take()
    cut = CutFrom(
        name="evening.m4a", sha256=RECORDING, number=number, start_s=start_s, end_s=end_s
    )  # fmt: skip
    source = replace(take.source, name=f"evening-{number}.m4a", sha256=sha256, cut_from=cut)
    return replace(take, source=source)


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    """An empty one."""
    with Library(tmp_path / "library.db") as kept:
        yield kept


def test_a_section_knows_its_place(library: Library) -> None:
    """In the list, and when it is read again."""
    added = library.add(section(60.0, 90.0, "s1"))
    entry = library.entry(added.id)
    assert (entry.of_name, entry.start_s, entry.end_s) == ("evening.m4a", 60.0, 90.0)
    cut = library.take(added.id).source.cut_from
    assert cut is not None
    assert cut.start_s == 60.0
    whole = library.add(sample_take())
    assert library.entry(whole.id).of_name is None


def test_a_section_that_is_cut_a_little_otherwise_is_the_same_take(library: Library) -> None:
    """Its correction stays where it is in the recording; another section is another take."""
    first = library.add(section(60.0, 90.0, "s1"))
    onset_s = sample_take().voicings[2].attack.onset_s
    library.correct(first.id, Correction(onset_s=onset_s, symbol="G7alt"))
    again = library.add(section(60.05, 91.0, "s2"))
    assert (again.id, again.outcome) == (first.id, "analysed again")
    (kept,) = library.corrections(first.id)
    assert kept.onset_s == pytest.approx(onset_s - 0.05)
    assert library.entry(first.id).start_s == 60.05
    other = library.add(section(100.0, 130.0, "s3", number=2))
    assert (other.id, other.outcome) != (first.id, "analysed again")
    assert other.outcome == "added"


def test_a_recording_that_was_heard_is_remembered(library: Library) -> None:
    """By its content: from its sections, and where nothing of it was kept."""
    assert not was_heard(library.store, RECORDING)
    added = library.add(section(60.0, 90.0, "s1"))
    assert was_heard(library.store, RECORDING)
    library.remove(added.id)
    assert not was_heard(library.store, RECORDING)
    remember(library.store, RECORDING, "evening.m4a", "nothing heard")
    remember(library.store, RECORDING, "evening (1).m4a", "heard")
    assert was_heard(library.store, RECORDING)
