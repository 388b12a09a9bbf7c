"""What a player reads: each fault in a sentence with chord, degree and notes; what to do next."""

import pytest

from stackline.practice.review.review_records import Review
from stackline.practice.review.reviewing import review_gestures
from stackline.practice.targets.target_text import parse_target
from stackline.practice.written.fault_notes import with_notes
from stackline.practice.written.fault_words import in_words
from stackline.practice.written.next_thing import HARM, listed, next_thing, problems
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, gestures_of, played

STUDY = parse_target(TARGET_TEXT, name="study")
II, V, I = TWO_FIVE  # noqa: E741
Row = tuple[float, tuple[int, ...]]


def reviewed(*rows: Row, text: str = TARGET_TEXT) -> Review:
    """A review against the study, or another target."""
    return review_gestures(gestures_of(rows), parse_target(text, name="study"), "x")


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (((53, 57, 61, 64), V, I), "the 7 instead of the b7 in IIm9 (Dm9: C# for C)"),
        (((53, 57, 64), V, I), "IIm9 without its b7 (Dm9: C is missing)"),
        (((53, 60, 64), V, I), "IIm9 without its 5 (Dm9: A is missing)"),
        (((53, 57, 60, 64, 67), V, I), "IIm9 with an 11 added (Dm9: G)"),
        (((53, 57, 60, 64, 71), V, I), "IIm9 with a 13 added (Dm9: B)"),
        (((53, 57, 60, 62, 64), V, I), "IIm9 with an R added (Dm9: D)"),
        ((II, V, (64, 67, 69, 74)), "I6/9 lay an octave up (C6/9)"),
        ((II, V, (28, 31, 33, 38)), "I6/9 lay 2 octaves down (C6/9)"),
        ((II, V, (50, 52, 55, 57)), "I6/9 was stacked 9 3 5 6 (C6/9)"),
        (((54, 58, 61, 64), V, I), "IIm9 was another voicing: 3 #5 7 9 (Dm9)"),
        (
            (II, V, (52, 56, 57, 62)),
            "the b9 of V13(b9) did not land on the 5: stayed (G13(b9): Ab)",
        ),
        (
            (II, V, (52, 54, 57, 62)),
            "the b9 of V13(b9) did not land on the 5: the #11 came instead (G13(b9): F# for Ab)",
        ),
    ],
)
def test_each_fault_is_one_sentence(rows: tuple[tuple[int, ...], ...], words: str) -> None:
    """Degrees over the chord of the target, notes of this key behind it."""
    one = reviewed(*played(*rows)).passes[0]
    told = [with_notes(STUDY, one, fault) for fault in one.faults]
    assert told == [words]


def test_a_late_resolution_says_where_it_landed() -> None:
    """The G after the Ab."""
    found = reviewed(*played(II, V), (2.5, (52, 56, 57, 62)), (3.0, (52, 55, 57, 62)))
    assert (
        in_words(STUDY, found.passes[0].faults[0])
        == "the b9 of V13(b9) landed late on the 5 of I6/9"
    )


def test_a_wait_is_told_in_beats_between_its_chords() -> None:
    """Two beats too long before the I."""
    found = reviewed((0.5, II), (1.5, V), (3.0, I))
    assert (
        in_words(STUDY, found.passes[0].faults[0])
        == "2.0 beats of waiting between V13(b9) and I6/9"
    )


def test_notes_are_spelled_in_the_key_of_the_pass() -> None:
    """In B the b7 of the C#m9 is a B, and what came for it a B#."""
    one = reviewed(*played((53, 57, 61, 64), V, I, up=-1)).passes[0]
    assert with_notes(STUDY, one, one.faults[0]).endswith("(C#m9: B# for B)")


def test_the_gravest_problem_comes_first() -> None:
    """A guide tone left out in one key outweighs an octave in one; two keys outweigh one."""
    one = reviewed(
        *played((53, 57, 64), V, I), *played(II, tuple(p + 12 for p in V), I, start_s=5.0, up=3)
    )
    assert problems(one.passes)[0][0][0] == "missing guide tone"
    two = reviewed(
        *played((53, 60, 64), V, I),
        *played(II, (53, 59, 64), I, start_s=5.0, up=3),
        *played(II, (53, 59, 64), I, start_s=9.5, up=5),
    )
    assert problems(two.passes)[0][0] == ("missing note", 1, "b9")
    assert min(HARM, key=lambda kind: HARM[kind]) == "hesitation"


def test_what_to_do_is_something_to_play() -> None:
    """Two chords with their notes, a key, three quarters of the tempo."""
    found = reviewed(*played(II, V, (52, 56, 57, 62), every_s=2.0))
    assert next_thing(found).endswith(
        "At the piano: G13(b9) (F Ab B E) to C6/9 (E G A D) in C, at 90 beats a minute, "
        "until it is clean three times."
    )
    first = reviewed(*played((53, 57, 61, 64), V, I, every_s=2.0))
    assert "At the piano: Dm9 (F A C E) in C, at 90" in next_thing(first)
    symbols = reviewed(*played(II, (53, 57, 59, 64), I, every_s=2.0), text="Dm9 | G7(b9) | C6")
    assert "At the piano: Dm9 to G7(b9) in C, at 90" in next_thing(symbols)


def test_after_clean_passes_come_new_keys_and_then_tempo() -> None:
    """One key clean: the others are named; all twelve: five in a hundred faster."""
    assert "keys not played yet: F, Bb" in next_thing(reviewed(*played(II, V, I)))
    rows = [row for i in range(12) for row in played(II, V, I, start_s=0.5 + 5 * i, up=i - 6)]
    assert next_thing(reviewed(*rows)) == "Clean in all twelve keys; try 252 beats a minute."


@pytest.mark.parametrize(
    ("words", "text"),
    [(["C"], "C"), (["C", "F"], "C and F"), (["C", "F", "Bb"], "C, F and Bb")],
)
def test_lists_are_read_aloud(words: list[str], text: str) -> None:
    """With an and before the last."""
    assert listed(words) == text
