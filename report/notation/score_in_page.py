"""The engraved score that stands inside a page, and whether there is one."""

from stackline.report.notation.engraving import engrave
from stackline.report.score.score_spelling import nameable
from stackline.shared.take import Take

LONGEST_SCORE = 1200  # voicings, about half an hour of comping


def has_score(take: Take) -> bool:
    """Whether a page shows the score: no long one, and none whose chords have unknown roots.

    A score of hours is a file of its own (``--formats score``): inside the page it would
    weigh more than all the rest.
    """
    return len(take.voicings) <= LONGEST_SCORE and nameable(take)


def page_score(take: Take) -> tuple[str, ...]:
    """The score's pages as SVG; none where there is no score."""
    return engrave(take) if has_score(take) else ()
