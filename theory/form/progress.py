"""The chords of a take as a progression: runs of voicings under one chord."""

from collections.abc import Sequence
from dataclasses import dataclass

from stackline.shared.harmony import Voicing
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.same_chord import same_chord
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.labelling.slips import slip_shifts


@dataclass(frozen=True, kw_only=True)
class Run:
    """Neighbouring voicings of one chord: first and last index, root, family, symbol."""

    first: int
    last: int
    root: str
    family: str
    symbol: str

    @property
    def root_pc(self) -> int:
        return pitch_class_of(self.root)


def chord_runs(voicings: Sequence[Voicing]) -> tuple[Run, ...]:
    """The voicings in runs; the symbol is that of the run's first voicing.

    Side-slips are passed over: a chord goes on around them.
    """
    runs: list[Run] = []
    slipped = slip_shifts([voicing.pitches for voicing in voicings])
    for i, voicing in enumerate(voicings):
        if i in slipped and voicing.chord.source == "heard":
            continue
        symbol = voicing.chord.symbol
        if runs and same_chord(voicings[runs[-1].last], voicing):
            runs[-1] = _extended(runs[-1], i)
            continue
        family = quality(symbol.quality).family
        runs.append(Run(first=i, last=i, root=symbol.root, family=family, symbol=symbol.text))
    return tuple(runs)


def _extended(run: Run, last: int) -> Run:
    return Run(first=run.first, last=last, root=run.root, family=run.family, symbol=run.symbol)


def root_step(one: Run, two: Run) -> int:
    """Semitones up from one root to the next, 0..11."""
    return (two.root_pc - one.root_pc) % 12
