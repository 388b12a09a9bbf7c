"""The engraved score that stands inside a page, and whether there is one."""

from report.engraving import engrave
from report.score_spelling import nameable
from shared.take import Take

LONGEST_SCORE = 1200  # voicings, about half an hour of comping


def page_score(take: Take) -> tuple[str, ...]:
    """The score's pages as SVG; none where a chord's root is no note name, or for a long take.

    A score of hours is a file of its own (``--formats score``): inside the page it would
    weigh more than all the rest.
    """
    if len(take.voicings) > LONGEST_SCORE or not nameable(take):
        return ()
    return engrave(take)
