"""The quiz in Chromium, at a phone's width, by touch and by keyboard alone."""

import json
from pathlib import Path
from typing import Any

import pytest

from stackline.practice.quiz.questions import Question
from stackline.practice.quiz.quiz_page import render
from tests.support.readers.browser_pages import NEEDS_CHROMIUM, bare, until

pytestmark = NEEDS_CHROMIUM

CARDS = tuple(
    Question(
        ask=f"G13: question {number}, <b>?</b>",
        choices=("wrong", "right", "b9"),
        right=1,
        why=f"because {number}",
        sounds=((0.0, 0.5, 53), (0.0, 0.5, 59)),
        roots=((0.0, 0.5, 31),),
    )
    for number in range(5)
)


@pytest.fixture
def quiz(tmp_path: Path) -> Path:
    """Five cards."""
    path = tmp_path / "quiz.html"
    path.write_text(render(CARDS), encoding="utf-8")
    return path


def _asked(page: Any) -> str:
    return str(page.text_content("#ask"))


def test_what_is_missed_comes_again_until_it_is_right(browser: Any, quiz: Path) -> None:
    """The first answer wrong: it is asked again as the fourth; then all are done."""
    page = bare(browser, quiz, "phone")
    order = []
    for turn in range(6):
        order.append(_asked(page))
        page.keyboard.press("1" if turn == 0 else "2")
        page.keyboard.press("Enter")
    assert order[0] == order[4]
    assert len(set(order)) == 5
    assert "4 of 5 right at first" in _asked(page)
    assert page.faults == []
    page.close()


def test_it_can_be_heard_and_fits_a_phone(browser: Any, quiz: Path) -> None:
    """Two notes and the root under them; nothing is wider than the screen; markup is text."""
    page = bare(browser, quiz, "phone")
    assert "<b>?</b>" in _asked(page)
    page.click("#hear")
    until(page, "document.getElementById('hear').dataset.sounded === '3'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.click("#choices button:nth-child(3)")
    assert page.get_attribute("#choices button:nth-child(2)", "class") == "right"
    assert page.get_attribute("#choices button:nth-child(3)", "class") == "wrong"
    assert page.text_content("#why") == "because 0"
    assert json.loads(page.text_content("#cards") or "[]")[0]["right"] == 1
    assert page.faults == []
    page.close()
