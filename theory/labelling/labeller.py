"""The labeller: from soundings to the chances of every chord, in context.

Scores are look-ups in the tables of `likelihood`; `context` adds what stands
before and after. The weights below were chosen on generated progressions and made takes from
seeds of their own (bench/labels.py and bench/results/labels_notes.md say which), never on what
a figure is quoted for.

States are numbered root * 9 + role inside, and root * 6 + family in what leaves here.
"""

import math
from collections.abc import Sequence
from functools import cache

import numpy as np

from stackline.theory.chords.qualities import FAMILIES
from stackline.theory.labelling.context import N_CHORDS, Posterior, decode
from stackline.theory.labelling.likelihood import (
    N_ROLES,
    ROLES,
    bass_scores,
    log_role_prior,
    melody_scores,
    stack_scores,
)
from stackline.theory.labelling.shape_scores import shape_row
from stackline.theory.labelling.slips import slip_shifts
from stackline.theory.sounding import Sounding
from stackline.theory.stacks.shapes import Shape

SHAPE_SHARE = 0.5  # how much a listed shape counts beside its intervals
SHAPE_SCALE = 3.0
NOTES_WEIGHT = 1.1
PRIOR_WEIGHT = 0.6  # of how common a role is, beyond what context says of it
BASS_WEIGHT = 1.0
MELODY_WEIGHT = 0.5
UNSURE_NOTES = 0.6  # what is left of the notes' weight where the ear is quite unsure
STAY = 0.25  # chance that a new attack still belongs to the same chord
STAY_SAME_NOTES = 0.9
RINGING = 2  # so many held notes are a chord that rings
STAY_LONE = 0.75  # a lone bass or melody note rather joins the chord that is there
STAY_UNDER = 0.95  # and more so while the chord still rings
TIE_BREAK = 1e-4  # between equals the root nearest below the lowest note is named
TEMPER, TEMPER_THIN = 0.92, 0.6  # calibration: chances are raised to this; of two notes to less


def pitch_class_set(pitches: Sequence[int]) -> int:
    """The pitch classes of some pitches as a 12-bit number; bit p is pitch class p."""
    bits = 0
    for pitch in pitches:
        bits |= 1 << (pitch % 12)
    return bits


def _sureness(step: Sounding) -> float:
    """The chance that all notes are right, as the ear gave it for each."""
    return math.prod(note.confidence for note in step.notes)


def note_scores(steps: Sequence[Sounding], known: tuple[Shape, ...] | None = None) -> np.ndarray:
    """The log-likelihood of each step's notes for every chord, without context: (n, 108).

    known: the shapes to recognise, all of `stackline.theory.stacks.shapes` if left out.
    """
    prior = log_role_prior()
    rows = np.empty((len(steps), 12, N_ROLES))
    trust = [UNSURE_NOTES + (1 - UNSURE_NOTES) * _sureness(step) for step in steps]
    for i, step in enumerate(steps):
        if step.kind == "voicing":
            table = stack_scores(step.deep)
            lowest = step.pitches[0] % 12
            heard = table[pitch_class_set(step.pitches), lowest].astype(np.float64)
            shape = shape_row(step.pitches, known)
            if shape is not None:
                heard = np.log(
                    (1 - SHAPE_SHARE) * np.exp(heard) + SHAPE_SHARE * SHAPE_SCALE * shape
                )
            rows[i] = trust[i] * (NOTES_WEIGHT * heard + PRIOR_WEIGHT * prior)
            rows[i] -= TIE_BREAK * ((lowest - np.arange(12)) % 12)[:, None]
        elif step.kind == "bass":
            rows[i] = BASS_WEIGHT * bass_scores()[step.pitches[0] % 12]
        else:
            rows[i] = MELODY_WEIGHT * melody_scores()[step.pitches[-1] % 12]
    return rows.reshape(len(steps), N_CHORDS)


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


@cache
def family_of_role() -> np.ndarray:
    """0/1 (108, 72): which family state each role state belongs to."""
    table = np.zeros((N_CHORDS, 12 * len(FAMILIES)))
    for root in range(12):
        for number, role in enumerate(ROLES):
            family = FAMILIES.index(role.family)
            table[root * N_ROLES + number, root * len(FAMILIES) + family] = 1.0
    return table


def by_family(chances: np.ndarray) -> np.ndarray:
    """Chances of roles (n, 108) summed into families (n, 72)."""
    return chances @ family_of_role()


def family_scores(steps: Sequence[Sounding]) -> np.ndarray:
    """The notes' own log-likelihood for every root and family, without context: (n, 72)."""
    scores = note_scores(steps)
    top = scores.max(axis=1, keepdims=True)
    return np.log(by_family(np.exp(scores - top)) + 1e-300) + top


def label(steps: Sequence[Sounding], known: tuple[Shape, ...] | None = None) -> Posterior:
    """Posterior chances of chords (n, 72) and keys (n, 24) for each step, calibrated."""
    if not steps:
        return Posterior(
            chords=np.empty((0, 12 * len(FAMILIES))), keys=np.empty((0, 24)), evidence=0.0
        )
    slipped = _slipped(steps)
    kept = [i for i in range(len(steps)) if i not in slipped]
    chain = [steps[i] for i in kept]
    found = decode(note_scores(chain, known), stay_chances(chain), parallel_moves(chain))
    chords, keys = _with_slips(by_family(found.chords), found.keys, kept, slipped)
    thin = np.array([len(step.pitches) <= 2 for step in steps])
    chords **= np.where(thin, TEMPER_THIN, TEMPER)[:, None]
    chords /= chords.sum(axis=1, keepdims=True)
    return Posterior(chords=chords, keys=keys, evidence=found.evidence)


def _slipped(steps: Sequence[Sounding]) -> dict[int, int]:
    """Steps that slip by a semitone and back (see `slips`): index -> shift."""
    voicings = [i for i, step in enumerate(steps) if step.kind == "voicing"]
    shifts = slip_shifts([steps[i].pitches for i in voicings])
    return {voicings[i]: shift for i, shift in shifts.items()}


def _with_slips(
    chords: np.ndarray, keys: np.ndarray, kept: Sequence[int], slipped: dict[int, int]
) -> tuple[np.ndarray, np.ndarray]:
    """Put slipped steps back: each has the chances of the step before, moved with the stack."""
    n = len(kept) + len(slipped)
    all_chords, all_keys = np.empty((n, chords.shape[1])), np.empty((n, keys.shape[1]))
    all_chords[list(kept)], all_keys[list(kept)] = chords, keys
    for i in sorted(slipped):
        home = next(j for j in range(i - 1, -1, -1) if j not in slipped)
        all_chords[i] = np.roll(all_chords[home], slipped[i] * len(FAMILIES))
        all_keys[i] = all_keys[home]
    return all_chords, all_keys
