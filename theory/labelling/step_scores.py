"""What each step's notes say by themselves: log-likelihoods of chords, without context.

A stack is weighed by its intervals (`theory.labelling.likelihood`) under each way with roots
(`theory.labelling.root_ways`), and as a listed shape where it is one (`shape_scores`). A lone bass
note speaks for its root, a lone high note for the chords that hold it.

States are numbered root * 9 + role; families root * 6 + family.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from stackline.theory.chords.qualities import FAMILIES
from stackline.theory.labelling.likelihood import (
    N_ROLES,
    ROLES,
    bass_scores,
    log_role_prior,
    melody_scores,
)
from stackline.theory.labelling.root_ways import (
    N_WAYS,
    WAYS,
    root_places,
    root_shares,
    stack_scores,
)
from stackline.theory.labelling.shape_scores import shape_row
from stackline.theory.sounding import Sounding
from stackline.theory.stacks.shapes import Shape

N_CHORDS = 12 * N_ROLES  # roots times roles
SHAPE_SHARE = 0.5  # how much a listed shape counts beside its intervals
SHAPE_SCALE = 1.5  # weight of what a listed shape says (chosen as the others are)
SHAPE_ROOTS = 0.45  # and how much the way with roots counts for it
NOTES_WEIGHT = 1.1  # of what the intervals say
PRIOR_WEIGHT = 0.5  # of how common a role is, beyond what context says of it
BASS_WEIGHT = 1.0  # of a lone bass note
MELODY_WEIGHT = 0.5  # of a lone high note
UNSURE_NOTES = 0.6  # what is left of the notes' weight where the ear is quite unsure
SHELL_REACH = 6  # voicings; a fifth this near to guide tones of other chords is guide tones
BARE_FIFTH = 4.6  # log: else it speaks for its own root
BARE_TENTH = 3.0  # log: two notes a tenth apart are a root and its third
_TENTH_ROLES = {15: [1, 2], 16: [0, 3]}  # minor and tonic minor; major and dominant
TIE_BREAK = 1e-4  # between equals the root nearest below the lowest note is named


def pitch_class_set(pitches: Sequence[int]) -> int:
    """The pitch classes of some pitches as a 12-bit number; bit p is pitch class p."""
    bits = 0
    for pitch in pitches:
        bits |= 1 << (pitch % 12)
    return bits


@cache
def _triads() -> frozenset[int]:
    """The sets of all major and minor triads: chords themselves before they are a shape's rest."""
    return frozenset(
        pitch_class_set((root, root + third, root + 7)) for root in range(12) for third in (3, 4)
    )


def _sureness(step: Sounding) -> float:
    """The chance that all notes are right, as the ear gave it for each."""
    return math.prod(note.confidence for note in step.notes)


@dataclass(frozen=True, kw_only=True, eq=False)
class Scored:
    """Steps with what their notes say by themselves: log-likelihoods, natural logarithm.

    ways: of each chord under each way with roots, (n, n_ways, 108).
    """

    steps: tuple[Sounding, ...]
    ways: np.ndarray

    @cached_property
    def chords(self) -> np.ndarray:
        """Of each chord, any way with roots: (n, 108)."""
        found: np.ndarray = np.logaddexp.reduce(self.ways, axis=1) - math.log(N_WAYS)
        return found

    @cached_property
    def families(self) -> np.ndarray:
        """Of each root and family: (n, 72)."""
        return in_families(self.chords)


def scored(steps: Sequence[Sounding], known: tuple[Shape, ...] | None = None) -> Scored:
    """What the notes of each step say.

    known: the shapes to recognise, all of `theory.stacks.shapes` if left out.
    """
    rows = np.empty((len(steps), N_WAYS, 12, N_ROLES))
    voicings = [i for i, step in enumerate(steps) if step.kind == "voicing"]
    if voicings:
        rows[voicings] = _voicing_scores([steps[i] for i in voicings], known)
    for i, step in enumerate(steps):
        if step.kind == "bass":
            rows[i] = BASS_WEIGHT * bass_scores()[step.pitches[0] % 12]
        elif step.kind == "melody":
            rows[i] = MELODY_WEIGHT * melody_scores()[step.pitches[-1] % 12]
    for i, root in bare_fifths(steps).items():
        rows[i, :, root, 0] += BARE_FIFTH  # the role major: a triad without its third
    for i in voicings:
        if (third := _tenth(steps[i])) is not None:
            rows[i, :, steps[i].pitches[0] % 12, _TENTH_ROLES[third]] += BARE_TENTH
    return Scored(steps=tuple(steps), ways=rows.reshape(len(steps), N_WAYS, N_CHORDS))


def _voicing_scores(steps: Sequence[Sounding], known: tuple[Shape, ...] | None) -> np.ndarray:
    """The same for steps that are voicings: (n, n_ways, 12, n_roles)."""
    sets = np.array([pitch_class_set(step.pitches) for step in steps])
    lowest = np.array([step.pitches[0] % 12 for step in steps])
    deep = np.array([step.deep for step in steps])
    heard = stack_scores(sets, lowest, deep)
    _, _, places = root_places(sets, lowest)
    for i, step in enumerate(steps):
        shape = shape_row(step.pitches, known)
        if shape is not None and not _thin(step) and sets[i] not in _triads():
            shares = root_shares()[int(deep[i])][:, places[i]] - math.log(1 / 3)
            listed = SHAPE_SCALE * shape * np.exp(SHAPE_ROOTS * shares)
            part = np.array([SHAPE_SHARE * (not way.free) for way in WAYS])[:, None, None]
            heard[i] = np.log((1 - part) * np.exp(heard[i]) + part * listed)
    trust = UNSURE_NOTES + (1 - UNSURE_NOTES) * np.array([_sureness(step) for step in steps])
    scores = NOTES_WEIGHT * heard + PRIOR_WEIGHT * log_role_prior()
    tie = TIE_BREAK * ((lowest[:, None] - np.arange(12)) % 12)
    found: np.ndarray = trust[:, None, None, None] * scores - tie[:, None, :, None]
    return found


def bare_fifths(steps: Sequence[Sounding]) -> dict[int, int]:
    """Steps of nothing but a root and its fifth -> that root, where nobody plays guide tones.

    The same notes are the 3 and 7 of a major 7th chord, the b3 and b7 of a minor one: among shells
    of other chords they are that.
    """
    thin = [i for i, step in enumerate(steps) if step.kind == "voicing" and _thin(step)]
    found = {i: steps[i].pitches[0] % 12 for i in thin if _is_fifth(steps[i])}
    shells = [i for i in thin if i not in found]
    return {i: root for i, root in found.items() if all(abs(i - j) > SHELL_REACH for j in shells)}


def _thin(step: Sounding) -> bool:
    return len({pitch % 12 for pitch in step.pitches}) == 2


def _tenth(step: Sounding) -> int | None:
    """Semitones between two notes a tenth apart, None for anything else."""
    apart = step.pitches[-1] - step.pitches[0]
    return apart if len(step.pitches) == 2 and apart in _TENTH_ROLES else None


def _is_fifth(step: Sounding) -> bool:
    low = step.pitches[0]
    return {(pitch - low) % 12 for pitch in step.pitches} == {0, 7}


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


def in_families(scores: np.ndarray) -> np.ndarray:
    """Log-likelihoods of roles (n, 108) as those of families (n, 72)."""
    top = scores.max(axis=1, keepdims=True)
    return np.log(by_family(np.exp(scores - top)) + 1e-300) + top
