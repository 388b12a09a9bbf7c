"""The engraved score that stands inside a page: whether there is one, and when it is drawn.

Drawing takes as long as all the rest of a page. An `Engraver` does it in a process of its own
(`report.apart`) that is started before the take is there, so that drawing begins at once and the
rest is written meanwhile.
"""

from types import TracebackType

from report.apart import Apart, ApartError
from report.engraving import engrave
from report.score_spelling import nameable
from shared.take import Take

LONGEST_SCORE = 1200  # voicings, about half an hour of comping


def engraved(take: Take) -> tuple[str, ...]:
    """The score's pages as SVG; none where a chord's root is no note name, or for a long take.

    A score of hours is a file of its own (``--formats score``): inside the page it would
    weigh more than all the rest.
    """
    if len(take.voicings) > LONGEST_SCORE or not nameable(take):
        return ()
    return engrave(take)


class Engraver:
    """Draws one take's score beside other work; leave the context to end it."""

    def __init__(self) -> None:
        self._apart = Apart(__name__)

    def begin(self, take: Take) -> None:
        """Hand the take over."""
        self._apart.give(engraved, take)

    def pages(self, take: Take) -> tuple[str, ...]:
        """What `engraved` gives for the take that was handed over; waits for it."""
        try:
            drawn: tuple[str, ...] = self._apart.result()
        except ApartError:
            return engraved(take)
        return drawn

    def __enter__(self) -> "Engraver":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 where: TracebackType | None) -> None:  # fmt: skip
        self._apart.__exit__(kind, error, where)
