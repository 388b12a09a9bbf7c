"""Key centres over a take: which key each stretch of chords stands in.

The best path of keys through the chords, by the same tables as the labeller's: how likely a
chord is in a key, how readily keys change. Chords with little confidence count less. Of a key's two
names (Gb, F#) the one is taken in which its chords are spelled.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from stackline.shared.best_path import best_path
from stackline.shared.harmony import Voicing
from stackline.theory.chords.keys import Key, key_by_number
from stackline.theory.chords.qualities import FAMILIES
from stackline.theory.chords.spelling import fifths
from stackline.theory.form.progress import chord_runs
from stackline.theory.labelling.progress_prior import key_moves, key_table
from stackline.theory.labelling.step_scores import family_of_role

HOME = 1.5  # log weight of the key that a cadence says (ours)


@dataclass(frozen=True, kw_only=True)
class KeyCentre:
    """A key over voicings first..last (indices)."""

    key: Key
    first: int
    last: int


def key_centres(voicings: Sequence[Voicing]) -> tuple[KeyCentre, ...]:
    """The key of each stretch, in order; stretches cover every voicing once."""
    runs = chord_runs(voicings)
    if not runs:
        return ()
    by_family = np.log(key_table() @ family_of_role())
    rows = []
    for run in runs:
        weight = voicings[run.first].chord.confidence
        state = run.root_pc * len(FAMILIES) + FAMILIES.index(run.family)
        rows.append(weight * by_family[:, state])
    for end in (0, -1):  # takes tend to begin and to end at home (common practice)
        tonic = runs[end].root_pc
        rows[end] = rows[end] + HOME * np.isin(np.arange(24), (tonic, tonic + 12))
    centres: list[KeyCentre] = []
    moves = np.log(key_moves())
    path = zip(runs, best_path(rows, lambda _: moves), strict=True)
    for number, stretch in groupby(path, key=lambda one: int(one[1])):
        inside = [run for run, _ in stretch]
        near = sum(fifths(run.root) for run in inside) / len(inside)
        key = key_by_number(number, near=near)
        centres.append(KeyCentre(key=key, first=inside[0].first, last=inside[-1].last))
    return tuple(centres)
