"""Questions: the right answer is right, the others are not, and only sure voicings are asked."""

import random
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest

from fixtures.forms.progressions import generated, voiced
from stackline.practice.library.library import Library
from stackline.practice.quiz.questions import SURE, Question, questions
from stackline.practice.quiz.quiz_page import render
from stackline.shared.complaint import Complaint
from tests.support.takes.practice_scenes import played, take_of

# Intervals over the root that settle a chord (common practice): what must sound, what must not
SETTLED = {
    "m9": ({3, 10}, {4, 11, 1, 6}), "maj9": ({4, 11}, {3, 10, 5}), "13": ({4, 10}, {3, 11, 1, 8}),
    "13(b9)": ({4, 10, 1}, {11, 2}), "m7b5": ({3, 6, 10}, {7, 4, 11}), "9sus": ({5, 10}, {11, 3}),
    "6/9": ({4, 9}, {10, 3}), "mMaj9": ({3, 11}, {10, 4}), "m6/9": ({3, 9}, {4, 10, 11}),
}  # fmt: skip


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    """Twenty takes of made comping, sure notes; one of them unsure."""
    with Library(tmp_path_factory.mktemp("kept") / "kept.db") as library:
        for number in range(20):
            rng = random.Random(900 + number)
            chords = voiced(generated(rng, phrases=2), rng)[:10]
            rows = played(*(tuple(one.pitches) for one in chords), every_s=2.0)
            sure = 0.9 if number == 7 else 0.999
            library.add(take_of(rows, name=f"{number}.wav", sha256=f"{number:064d}", sure=sure))
        yield library


@pytest.fixture(scope="module")
def found(kept: Library) -> tuple[Question, ...]:
    """Eighty questions."""
    return questions(kept, 80)


def _heard(one: Question) -> list[int]:
    return [pitch for start, _, pitch in one.sounds if start == 0]


def test_all_four_kinds_are_asked(found: tuple[Question, ...]) -> None:
    """None of them hardly ever."""
    kinds = [one.ask.partition(": ")[2].split(" ")[1].strip(",") for one in found]
    for word in ("degree", "chord", "stack", "the"):
        assert kinds.count(word) >= 8, kinds


def test_choices_differ_and_hold_the_right_one(found: tuple[Question, ...]) -> None:
    """At least two, none twice."""
    for one in found:
        assert len(set(one.choices)) == len(one.choices) >= 2
        assert 0 <= one.right < len(one.choices)
        assert one.why


def test_the_degree_on_top_is_that_of_the_highest_note(found: tuple[Question, ...]) -> None:
    """By arithmetic over the bass that sounds with it: 0 R, 2 9, 4 3 and so on."""
    semitones = {
        "R": 0,
        "b9": 1,
        "9": 2,
        "#9": 3,
        "b3": 3,
        "3": 4,
        "4": 5,
        "11": 5,
        "#11": 6,
        "b5": 6,
        "5": 7,
        "b13": 8,
        "#5": 8,
        "13": 9,
        "6": 9,
        "bb7": 9,
        "b7": 10,
        "7": 11,
    }
    looked = 0
    for one in found:
        if "which degree" in one.ask and "/" not in one.ask.split(":")[0].replace("6/9", ""):
            looked += 1
            over = (max(_heard(one)) - one.roots[0][2]) % 12
            assert semitones[one.choices[one.right]] == over
    assert looked >= 8


def test_a_wrong_quality_is_wrong(found: tuple[Question, ...]) -> None:
    """No other answer has its settling tones sounding without one that forbids it."""
    looked = 0
    for one in found:
        if "which chord" not in one.ask:
            continue
        over = {(pitch - one.roots[0][2]) % 12 for pitch in _heard(one)}
        for i, choice in enumerate(one.choices):
            if i != one.right and choice in SETTLED:
                must, never = SETTLED[choice]
                looked += 1
                assert not (must <= over and not over & never), (one.ask, one.choices, over)
    assert looked >= 8


def test_unsure_takes_are_not_asked_about(kept: Library, found: tuple[Question, ...]) -> None:
    """The take of 0.9 a note is never named."""
    assert SURE > 0.9
    assert not any("7.wav at" in one.why and " 7.wav" in one.why for one in found)


def test_the_same_seed_gives_the_same_quiz(kept: Library, found: tuple[Question, ...]) -> None:
    """Another seed another one."""
    assert questions(kept, 80) == found
    assert questions(kept, 80, seed=1) != found


def test_an_empty_library_says_so(tmp_path: Path) -> None:
    """With what to type."""
    with Library(tmp_path / "none.db") as library, pytest.raises(Complaint, match="library add"):
        questions(library, 10)


def test_the_page_is_one_file_that_asks_nothing_of_the_network(
    found: tuple[Question, ...],
) -> None:
    """Its policy forbids it, and no address stands in it."""
    page = render(found)
    assert "default-src 'none'" in unescape(page)
    assert not re.search(r"https?://", page)
