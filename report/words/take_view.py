"""A take with what every report asks of it, each worked out once and then kept.

A view is made once where a take comes in (`stackline.report.outputs`), and handed to the renderers.
"""

from dataclasses import dataclass
from functools import cached_property

from stackline.report.words.marks import NoteNames, doubts
from stackline.report.words.places import Places
from stackline.shared.harmony import Motion, Resolution
from stackline.shared.take import Take
from stackline.theory.motion.tally import ARRIVED, Tally, tally
from stackline.theory.stacks.line_over import LineNote, line_notes

Due = tuple[Motion, Resolution]


@dataclass(frozen=True)
class TakeView:
    """A take as reports see it; what is worked out is kept with it."""

    take: Take

    @cached_property
    def places(self) -> Places:
        """How its places are written."""
        return Places(self.take)

    @cached_property
    def line(self) -> tuple[LineNote, ...]:
        """The notes of a line over the comping."""
        return line_notes(self.take.attacks, self.take.voicings)

    @cached_property
    def names(self) -> NoteNames:
        """How its notes are spelled."""
        return NoteNames(self.take.voicings, self.line)

    @cached_property
    def tally(self) -> Tally:
        """How many of the due resolutions landed."""
        return tally(self.take.motions, self.take.voicings)

    @cached_property
    def into(self) -> dict[int, Motion]:
        """The motion that arrives at each voicing, by the voicing's index."""
        return {motion.to_index: motion for motion in self.take.motions}

    @cached_property
    def onward(self) -> dict[int, Motion]:
        """The motion that leads on from each voicing, by the voicing's index."""
        return {motion.from_index: motion for motion in self.take.motions}

    @cached_property
    def due(self) -> tuple[Due, ...]:
        """Every resolution that was due, with its motion, in order."""
        return tuple((motion, one) for motion in self.take.motions for one in motion.resolutions)

    @cached_property
    def missed(self) -> tuple[Due, ...]:
        """Those of them that did not land."""
        return tuple(pair for pair in self.due if pair[1].outcome not in ARRIVED)

    @cached_property
    def unsure(self) -> tuple[int, ...]:
        """Which voicings have doubtful notes or a doubtful name, by index."""
        return tuple(i for i, voicing in enumerate(self.take.voicings) if doubts(voicing))

    def is_shaky(self, motion: Motion) -> bool:
        """Whether a motion goes from or to an unsure voicing."""
        return bool({motion.from_index, motion.to_index} & set(self.unsure))
