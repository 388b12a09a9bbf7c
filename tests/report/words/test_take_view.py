"""A take as reports see it: nothing is worked out twice."""

from collections.abc import Callable
from pathlib import Path

import pytest

from stackline.report import outputs
from stackline.report.words import take_view
from stackline.report.words.marks import doubts
from stackline.report.words.take_view import TakeView
from stackline.theory.motion.tally import ARRIVED
from tests.support.takes.sample_take import sample_take


def test_a_view_says_what_the_take_says() -> None:
    """Motions by their ends, what was due, what is doubtful: counted here by hand."""
    take = sample_take()
    view = TakeView(take)
    due = [one for motion in take.motions for one in motion.resolutions]
    assert [one for _, one in view.due] == due
    assert due
    assert [one for _, one in view.missed] == [one for one in due if one.outcome not in ARRIVED]
    assert all(
        view.into[one.to_index] is one is view.onward[one.from_index] for one in take.motions
    )
    assert view.unsure == tuple(i for i, one in enumerate(take.voicings) if doubts(one))
    assert view.tally.overall.due == len(due)
    for motion in take.motions:
        ends = take.voicings[motion.from_index], take.voicings[motion.to_index]
        assert view.is_shaky(motion) == any(doubts(one) for one in ends)


def test_all_formats_of_a_take_share_one_view(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Places, names and counts are asked for once, whatever is written."""
    asked: list[str] = []

    def counted(name: str, made: Callable[..., object]) -> Callable[..., object]:
        def called(*given: object) -> object:
            asked.append(name)
            return made(*given)

        return called

    for name in ("Places", "NoteNames", "tally", "line_notes"):
        monkeypatch.setattr(take_view, name, counted(name, getattr(take_view, name)))
    outputs.write(sample_take(), tmp_path, ["page", "text", "csv", "score", "sheet", "grid"])
    assert sorted(asked) == ["NoteNames", "Places", "line_notes", "tally"]
