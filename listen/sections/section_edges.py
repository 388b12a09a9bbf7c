"""Where a recording falls into sections: at rests, at talk, where tempo, meter or material change.

The likeliest edge of the whole recording is found first, then those of what lies on either side of
it, until no edge is likelier than none. How likely an edge is after an attack is a weighted sum of
the measures of `section_measures`, against "none" at 0; the weights were fitted on made sessions so
that the right edge, or none, is the likeliest choice (``python -m
training.classifiers.fit_section_edges``).

A piece begun again after a pause goes on: passes of one thing are one section, and the longer the
pause, the more alike must be what follows. After `LONGEST_PAUSE_S` a section begins whatever
follows.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from stackline.listen.sections.section_measures import Played, measures, played
from stackline.shared.notes import Attack, Passage, Span

LONGEST_PAUSE_S = 10.0  # without a note; ours
SHORTEST_S = 6.0  # of a section, from its first onset to its last
FEWEST = 6  # attacks
LEAD_S, TAIL_S = 0.5, 1.5  # of sound kept before the first onset, and after the last note
CLOSE_S = 0.06  # before an onset, where the section before it still sounds

_MOST_ALIKE = 2.0  # nats

# Of `inputs`; fitted, see above.
WEIGHTS = np.array([4.881, 2.925, 0.288, 1.834, 2.754, 0.853, 0.599])
NONE = -11.469


def inputs(found: np.ndarray) -> np.ndarray:
    """What is weighed, (n, 7), of measures (n, 5).

    Log-likelihoods go in as tenths, and those of tempo and texture once more as logarithms: the
    first nats say more than the last. However alike two sides are, a rest is one: what speaks
    against a change counts up to `_MOST_ALIKE`.
    """
    gains = np.maximum(found[:, 2:4], 0.0)
    alike = np.maximum(found[:, 2:], -_MOST_ALIKE)
    return np.column_stack([found[:, :2], alike / 10, np.log1p(gains)])


def allowed(here: Played, first: int, last: int) -> np.ndarray:
    """After which attacks from `first` up to `last` an edge leaves a section on each side, (n,)."""
    at, onset_s = np.arange(first, last), here.onset_s
    long_before = onset_s[at] - onset_s[first] >= SHORTEST_S
    long_after = onset_s[last] - onset_s[at + 1] >= SHORTEST_S
    many = (at - first + 1 >= FEWEST) & (last - at >= FEWEST)
    kept: np.ndarray = long_before & long_after & many
    return kept


def find_sections(
    attacks: Sequence[Attack], others: Sequence[Span], duration_s: float
) -> tuple[Passage, ...]:
    """The sections of a recording, in order, apart from each other; none without attacks.

    others: where something else sounds. What is rest, or talk between two sections, is in none.
    """
    if not attacks:
        return ()
    edges = section_edges(played(attacks, others))
    bounds = [-1, *edges, len(attacks) - 1]
    rings = [
        max(note.offset_s for one in attacks[a + 1 : b + 1] for note in one.struck)
        for a, b in pairwise(bounds)
    ]
    onsets = [attacks[a + 1].onset_s for a in bounds[:-1]]
    found, free_s = [], 0.0
    for i, onset_s in enumerate(onsets):
        start_s = max(free_s, onset_s - LEAD_S)
        next_s = onsets[i + 1] - CLOSE_S if i + 1 < len(onsets) else duration_s
        end_s = max(start_s, min(rings[i] + TAIL_S, next_s, duration_s))
        found.append(Passage(start_s=round(start_s, 2), end_s=round(end_s, 2)))
        free_s = end_s
    return tuple(found)


def section_edges(here: Played) -> list[int]:
    """The attacks after which a new section begins, in order."""
    found = np.flatnonzero(here.quiet_s > LONGEST_PAUSE_S).tolist()
    bounds = [-1, *found, len(here.onset_s) - 1]
    open_ends = [(a + 1, b) for a, b in pairwise(bounds)]
    while open_ends:
        first, last = open_ends.pop()
        at = _best(here, first, last)
        if at is not None:
            found.append(at)
            open_ends += [(first, at), (at + 1, last)]
    return sorted(found)


def _best(here: Played, first: int, last: int) -> int | None:
    """The likeliest edge between two attacks; None where none is likelier."""
    if last - first < 2 * FEWEST - 1:
        return None
    may_be = allowed(here, first, last)
    if not may_be.any():
        return None
    likely = inputs(measures(here, first, last)) @ WEIGHTS + NONE
    likely[~may_be] = -np.inf
    at = int(likely.argmax())
    return first + at if likely[at] > 0.0 else None
