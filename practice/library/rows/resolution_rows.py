"""A take's resolutions as rows: what was due, whether it landed, in which key."""

from dataclasses import dataclass

from stackline.shared.harmony import Voicing
from stackline.shared.take import Take
from stackline.theory.chords.spelling import pitch_class_of

FIFTH = 5  # semitones from a dominant's root up to its home


@dataclass(frozen=True, kw_only=True)
class ResolutionRow:
    """One due note of the voicing at `place`, in the order of the table `resolution`.

    number: from the lowest. came: the degree it reached, None where its voice stopped. key: the
    pitch class that it leads home to. confidence: that both voicings are right in notes and name.
    """

    place: int
    number: int
    degree: str
    is_top: bool
    outcome: str
    came: str | None
    key: int
    confidence: float


def resolution_rows(take: Take) -> tuple[ResolutionRow, ...]:
    """One row for each note that was due to move, in order."""
    return tuple(
        ResolutionRow(
            place=motion.from_index,
            number=number,
            degree=str(due.degree),
            is_top=due.midi == take.voicings[motion.from_index].top.midi,
            outcome=due.outcome,
            came=None if due.to is None else str(due.to),
            key=_home(take.voicings[motion.from_index], take.voicings[motion.to_index]),
            confidence=min(
                _certainty(take.voicings[i]) for i in (motion.from_index, motion.to_index)
            ),
        )
        for motion in take.motions
        for number, due in enumerate(motion.resolutions)
    )


def _certainty(voicing: Voicing) -> float:
    return min(voicing.confidence, voicing.chord.confidence)


def _home(before: Voicing, after: Voicing) -> int:
    """The next chord's root; a suspension that resolves over its own root is on its way home."""
    here, there = (pitch_class_of(one.chord.symbol.root) for one in (before, after))
    return (here + FIFTH) % 12 if here == there else there
