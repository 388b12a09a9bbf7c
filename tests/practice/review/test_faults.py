"""One event, one fault, called by the name that a teacher would use."""

import pytest

from stackline.practice.review.review_records import PassReview
from stackline.practice.review.reviewing import review, review_gestures
from stackline.practice.targets.target_text import parse_target
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, gestures_of, played, take_of

STUDY = parse_target(TARGET_TEXT)
II, V, I = TWO_FIVE  # noqa: E741


def faults(
    *rows: tuple[int, ...], text: str = TARGET_TEXT
) -> list[tuple[str, int, str | None, str | None]]:
    """(kind, chord, degree, what came instead) of the one pass."""
    found = review_gestures(gestures_of(played(*rows)), parse_target(text), "x").passes
    assert len(found) == 1
    return [(one.kind, one.chord, one.degree, one.came) for one in found[0].faults]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ((II, V, I), []),
        (((53, 57, 61, 64), V, I), [("wrong note", 0, "b7", "7")]),
        (((53, 57, 64), V, I), [("missing guide tone", 0, "b7", None)]),
        (((53, 60, 64), V, I), [("missing note", 0, "5", None)]),
        (((53, 57, 60, 64, 67), V, I), [("added note", 0, None, "11")]),
        ((II, (53, 59, 64, 68), I), [("other order", 1, None, None)]),
        ((II, V, (64, 67, 69, 74)), [("other octave", 2, None, None)]),
        ((II, V, (50, 52, 55, 57)), [("other order", 2, None, None)]),
        ((II, V, (52, 56, 57, 62)), [("did not resolve", 1, "b9", "b13")]),
        ((II, V, (53, 55, 57, 62)), [("wrong note", 2, "3", "11")]),  # the b7 stayed: a guide tone
        ((II, V, (52, 57, 62)), [("missing note", 2, "5", None)]),  # nothing stands for the 5
    ],
)
def test_what_went_wrong_is_told_once(
    rows: tuple[tuple[int, ...], ...], expected: list[tuple[str, int, str | None, str | None]]
) -> None:
    """Ii V I in C with one thing otherwise than written."""
    assert faults(*rows) == expected


def test_two_things_are_two_faults_and_three_another_voicing() -> None:
    """Two wrong notes in the ii are named each; three of four are another chord altogether."""
    two = faults((54, 57, 61, 64), V, I)
    assert [one[:3] for one in two] == [("wrong note", 0, "b3"), ("wrong note", 0, "b7")]
    three = faults((54, 58, 61, 64), V, I)
    assert [one[:2] for one in three] == [("another voicing", 0)]


def test_against_symbols_a_tension_may_go_where_it_likes() -> None:
    """G13(b9) to a C6/9 without a 5: nothing contradicts a symbol; an Ab that stays in does."""
    text = "Dm9 | G13(b9) | C6/9"
    assert faults(II, V, (52, 57, 62), text=text) == []
    stayed = faults(II, V, (52, 56, 57, 62), text=text)
    assert [one[:3] for one in stayed] == [("did not resolve", 1, "b9")]
    told = faults(II, V, (51, 55, 57, 62), text=text)
    assert [one[:3] for one in told] == [("wrong note", 2, "3")]


def only(rows: list[tuple[float, tuple[int, ...]]], sure: float, target: str) -> PassReview:
    """The one pass of a take heard with this confidence."""
    found = review(take_of(rows, sure=sure), parse_target(target)).passes
    assert len(found) == 1
    return found[0]


BLOCK = "IIm7: 5 b7 R b3 5 > V7: R 3 5 b7 R > I6: 5 6 R 3 5"
ONE, TWO, THREE = (57, 60, 62, 65, 69), (55, 59, 62, 65, 67), (55, 57, 60, 64, 67)


@pytest.mark.parametrize(
    ("rows", "sure", "faulty", "doubtful"),
    [
        # A note that is wrong: as sure as the ear is of it.
        (played((53, 57, 61, 64), V, I), 0.97, ["wrong note"], []),
        (played((53, 57, 61, 64), V, I), 0.60, ["wrong note"], []),
        (played((53, 57, 61, 64), V, I), 0.45, [], ["wrong note"]),
    ],
)
def test_a_finding_is_as_sure_as_its_note(
    rows: list[tuple[float, tuple[int, ...]]], sure: float, faulty: list[str],
    doubtful: list[str],
) -> None:  # fmt: skip
    """Below a half it is a doubt; below nine in ten it counts against nobody."""
    one = only(rows, sure, TARGET_TEXT)
    assert [fault.kind for fault in one.faults] == faulty
    assert [doubt.kind for doubt in one.doubts] == doubtful
    assert one.clean is (sure < 0.9)
    assert one.unsure == (1 if faulty and sure < 0.9 else 0)


def test_octaves_that_ears_confuse_are_doubts() -> None:
    """A doubled 5 missing or an octave added lies in the partials; a guide tone is heard."""
    lost = only(played(ONE, TWO, THREE[:-1]), 0.97, BLOCK)
    assert (lost.faults, [doubt.kind for doubt in lost.doubts]) == ((), ["missing note"])
    extra = only(played(II, V, (*I, 67)), 0.97, TARGET_TEXT)
    assert (extra.faults, [doubt.kind for doubt in extra.doubts]) == ((), ["added note"])
    missing = only(played(II, (53, 56, 64), I), 0.97, TARGET_TEXT)
    assert [fault.kind for fault in missing.faults] == ["missing guide tone"]


def test_known_notes_leave_no_doubt() -> None:
    """From MIDI the lost doubling is a plain fault."""
    one = only(played(ONE, TWO, THREE[:-1]), 1.0, BLOCK)
    assert [(fault.kind, fault.sure) for fault in one.faults] == [("missing note", 1.0)]
    assert not one.clean
