"""The labeller: from soundings to the chances of every chord, in context.

`step_scores` says what the notes speak for, `context` adds what stands before and after. The
weights were chosen on the choosing sets of bench/naming/dressed_names.py, never on what a figure
is quoted for (bench/results/labels_notes.md says how).

Where several readings have the same notes, context alone decides between them, and context is
less sure than it thinks: chords of real tunes often go elsewhere. So in what is said of a chord
context counts by a power below 1: SAID_CONTEXT, less where the notes lie anywhere (SAID_LOOSE), and
least between two dominants a tritone apart with the same notes (SAID_TRITONE): both go home, and
which of them was meant stands in no note.
"""

from collections.abc import Sequence

import numpy as np

from stackline.theory.chords.qualities import FAMILIES
from stackline.theory.labelling.context import Posterior, decode
from stackline.theory.labelling.root_ways import WAYS
from stackline.theory.labelling.slips import slip_shifts
from stackline.theory.labelling.step_scores import (
    Scored,
    by_family,
    in_families,
    pitch_class_set,
)
from stackline.theory.sounding import Sounding

STAY = 0.25  # chance that a new attack still belongs to the same chord
STAY_SAME_NOTES = 0.9  # and where it has the same notes (ours)
RINGING = 2  # so many held notes are a chord that rings
STAY_LONE = 0.75  # a lone bass or melody note rather joins the chord that is there
STAY_UNDER = 0.95  # and more so while the chord still rings
SAID_CONTEXT, SAID_LOOSE, SAID_TRITONE = 0.8, 0.6, 0.6  # powers of chances in what is said
SAID_NOTES = 0.4  # power of the notes beside it
SAID_THIN = 0.6  # power of the chances of two notes
TRITONE_AT_MOST = 0.88  # what is said of one of two dominants whose two notes are the same
NOTES_FLOOR = -3.0  # notes that speak against a reading by more speak no louder
_DOMINANT = FAMILIES.index("dominant")
SAME_NOTES = 1.0  # readings whose notes are as likely as this, in logs


def stay_chances(steps: Sequence[Sounding]) -> np.ndarray:
    """Chance that each step continues the chord before it, from what repeats: (n,)."""
    chances = np.full(len(steps), STAY)
    last = None
    for i, step in enumerate(steps):
        if step.kind != "voicing":
            chances[i] = STAY_UNDER if len(step.attack.held) >= RINGING else STAY_LONE
            continue
        classes = pitch_class_set(step.pitches)
        if classes == last:
            chances[i] = STAY_SAME_NOTES
        last = classes
    return chances


def parallel_moves(steps: Sequence[Sounding]) -> list[int | None]:
    """Per step, the semitones of an exact transposition of the stack before, or None."""
    moves: list[int | None] = [None] * len(steps)
    for i in range(1, len(steps)):
        before, now = steps[i - 1], steps[i]
        if before.kind != "voicing" or now.kind != "voicing" or len(now.pitches) < 3:
            continue
        if len(before.pitches) == len(now.pitches):
            shifts = {b - a for a, b in zip(before.pitches, now.pitches, strict=True)}
            if len(shifts) == 1 and 0 not in shifts:
                moves[i] = shifts.pop()
    return moves


def label(scored: Scored) -> Posterior:
    """Posterior chances of chords (n, 72), keys (n, 24) and ways with roots, as they are said."""
    slipped = _slipped(scored.steps)
    kept = [i for i in range(len(scored.steps)) if i not in slipped]
    chain, scores = [scored.steps[i] for i in kept], scored.ways[kept]
    found = decode(scores, stay_chances(chain), parallel_moves(chain))
    said = Posterior(
        chords=_said(chain, by_family(found.chords), _notes_alone(scores, found.ways), found.ways),
        past=by_family(found.past), keys=found.keys, ways=found.ways, evidence=found.evidence,
    )  # fmt: skip
    return _with_slips(said, kept, slipped)


def _notes_alone(scores: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """Log-likelihood of the notes for each family under the ways that are likely: (n, 72)."""
    weighed = np.logaddexp.reduce(scores + np.log(ways + 1e-30)[:, :, None], axis=1)
    families = in_families(weighed)
    found: np.ndarray = families - families.max(axis=1, keepdims=True)
    return found


def _said(
    steps: Sequence[Sounding], chords: np.ndarray, notes: np.ndarray, ways: np.ndarray
) -> np.ndarray:
    """Chances as they are said: see the module's text."""
    thin = np.array([len({pitch % 12 for pitch in step.pitches}) <= 2 for step in steps], bool)
    loose = ways @ np.array([way.order < 1 for way in WAYS])
    power = SAID_CONTEXT + (SAID_LOOSE - SAID_CONTEXT) * loose
    tied = _tritone_ties(chords, notes)
    power[tied] = np.minimum(power[tied], SAID_TRITONE)
    power[thin] = SAID_THIN
    logs = power[:, None] * np.log(chords + 1e-30)
    logs += np.where(thin, 0.0, SAID_NOTES)[:, None] * np.maximum(notes, NOTES_FLOOR)
    logs -= logs.max(axis=1, keepdims=True, initial=-np.inf)
    said = np.exp(logs)
    said /= said.sum(axis=1, keepdims=True)
    _share_tritones(said, np.flatnonzero(tied & thin))
    return said


def _share_tritones(said: np.ndarray, rows: np.ndarray) -> None:
    """Give what one dominant has above TRITONE_AT_MOST to the one a tritone away, in place."""
    best = said[rows].argmax(axis=1)
    above = np.maximum(said[rows, best] - TRITONE_AT_MOST, 0.0)
    said[rows, best] -= above
    said[rows, (best + said.shape[1] // 2) % said.shape[1]] += above


def _tritone_ties(chords: np.ndarray, notes: np.ndarray) -> np.ndarray:
    """Where the likeliest chord is a dominant whose notes are those of the one a tritone away."""
    n, n_states = chords.shape
    best = chords.argmax(axis=1)
    apart = notes[np.arange(n), best] - notes[np.arange(n), (best + n_states // 2) % n_states]
    found: np.ndarray = (best % len(FAMILIES) == _DOMINANT) & (np.abs(apart) < SAME_NOTES)
    return found


def _slipped(steps: Sequence[Sounding]) -> dict[int, int]:
    """Steps that slip by a semitone and back (see `theory.labelling.slips`): index -> shift."""
    voicings = [i for i, step in enumerate(steps) if step.kind == "voicing"]
    shifts = slip_shifts([steps[i].pitches for i in voicings])
    return {voicings[i]: shift for i, shift in shifts.items()}


def _with_slips(found: Posterior, kept: Sequence[int], slipped: dict[int, int]) -> Posterior:
    """Put slipped steps back: each has the chances of the step before, moved with the stack."""
    if not slipped:
        return found
    n = len(kept) + len(slipped)
    chords, past, keys, ways = (
        np.empty((n, rows.shape[1])) for rows in (found.chords, found.past, found.keys, found.ways)
    )
    chords[list(kept)], past[list(kept)] = found.chords, found.past
    keys[list(kept)], ways[list(kept)] = found.keys, found.ways
    for i in sorted(slipped):
        home = next(j for j in range(i - 1, -1, -1) if j not in slipped)
        for rows in (chords, past):
            rows[i] = np.roll(rows[home], slipped[i] * len(FAMILIES))
        keys[i], ways[i] = keys[home], ways[home]
    return Posterior(chords=chords, past=past, keys=keys, ways=ways, evidence=found.evidence)
