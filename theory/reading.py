"""The theory room's door: attacks in, voicings and motions out.

`read` names what was heard, or, with changes given, lays the voicings under them. Facts
stay in the attacks; everything here can be named anew without hearing again.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from stackline.shared.harmony import ChordSpan, Motion, Voicing
from stackline.shared.notes import Attack, BeatGrid
from stackline.shared.rhythm import HarmonicRhythm
from stackline.theory.form.harmonic_rhythm import harmonic_rhythm
from stackline.theory.given.given import given_spans
from stackline.theory.labelling.heard import heard_spans
from stackline.theory.labelling.step_scores import scored
from stackline.theory.motion.motion import motions
from stackline.theory.sheet.changes import Changes
from stackline.theory.sounding import Sounding, soundings
from stackline.theory.stacks.voicing_maker import make_voicing, mark_locked


@dataclass(frozen=True, kw_only=True)
class Reading:
    """Everything that theory says of a take."""

    voicings: tuple[Voicing, ...]
    motions: tuple[Motion, ...]
    rhythm: HarmonicRhythm


def read(
    attacks: Sequence[Attack],
    grid: BeatGrid,
    *,
    changes: Changes | None = None,
    end_s: float,
) -> Reading:
    """Name every attack that is a voicing, every move between neighbours, and when chords change.

    end_s: where the recording ends; the last chord holds until then.
    """
    steps = soundings(attacks)
    spans = _spans(steps, grid, changes, end_s)
    made = [
        make_voicing(step, span)
        for step, span in zip(steps, spans, strict=True)
        if step.kind == "voicing" and span is not None
    ]
    voicings = mark_locked(made)
    beat_s = 60.0 / grid.tempo_bpm if grid.tempo_bpm else None
    return Reading(
        voicings=voicings,
        motions=motions(voicings, beat_s),
        rhythm=harmonic_rhythm(voicings, grid, end_s=end_s),
    )


def _spans(
    steps: Sequence[Sounding], grid: BeatGrid, changes: Changes | None, end_s: float
) -> list[ChordSpan | None]:
    """One chord per step: heard, or laid under the changes."""
    notes = scored(steps)
    heard = heard_spans(notes, end_s)
    if changes is None:
        return heard
    return given_spans(notes, heard, grid, changes, end_s)
