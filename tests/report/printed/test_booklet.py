"""The booklet, read back by pypdf: contents that are right, every take, nothing lost."""

import pytest

from stackline.report.printed import booklet
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from tests.support.readers.printed import check_paper, read
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take

pytest.importorskip("typst")

HOSTILE = '#panic("x") <img src=x>.wav'


def pages_of(*takes: Take) -> list[str]:
    """The text of each page, after a look at the paper."""
    document = read(booklet.render([TakeView(take) for take in takes], "Lesson <b>3</b>"))
    check_paper(document)
    return [page.extract_text() for page in document.pages]


def test_the_contents_lead_to_the_takes() -> None:
    """Each take begins on the page that the first one says."""
    takes = [sample_take("one.wav"), long_take(60), gridless_take(), sample_take(HOSTILE)]
    pages = pages_of(*takes)
    begins = [
        next(i for i, page in enumerate(pages, 1) if i > 1 and take.source.name in flat(page))
        for take in takes
    ]
    assert begins == sorted(set(begins))
    numbers = [line.split()[-1] for line in pages[0].splitlines() if line.split()[-1:] and
               line.split()[-1].isdigit()]  # fmt: skip
    assert [int(one) for one in numbers if int(one) in begins][: len(begins)] == begins
    assert "Lesson <b>3</b>" in pages[0]


def flat(page: str) -> str:
    """A page as one line."""
    return " ".join(page.split())


def test_every_take_has_its_answers_and_its_changes() -> None:
    """What was played, what landed, the chords, and the score with its stacks."""
    text = flat(" ".join(pages_of(sample_take())))
    for words in ("Played", "Landed", "Next", "E♭m9", "A♭13(♭9)"):
        assert words in text
    assert text.count("♭7 3 | 13 ♭9") >= 2  # in the grid and in the score


def test_a_silent_take_is_named() -> None:
    """Nothing was heard in it, and the first page says so; of silent takes alone there is none."""
    assert f"Nothing was heard in {empty_take().source.name}." in flat(
        pages_of(sample_take(), empty_take())[0]
    )
    with pytest.raises(Complaint, match="nothing to print"):
        booklet.render([TakeView(empty_take())], "Silence")
