"""Further looks at what the piano ear's network takes for strikes.

The network listens to everything everywhere; what it gets wrong is nearly always one thing: a
key an octave, a twelfth or two octaves above another, whose partials all lie on partials of
the lower key. Pianos differ in how strong those partials are, key by key, and instruments that
the network was not trained on differ most. So each candidate is looked at twice more.

The second look sees `inputs`, the network's evidence around the candidate and for keys at
harmonic and neighbouring distances, what sounded before and after, and the levels of partials;
and `piano_habits`, what stands above the same lower key elsewhere in the take. The
third sees the habits again, as they are after the second. Each adds to the log odds.

Both are one hidden layer (several small ones side by side, each fitted to other draws of the
material); weights in `weights/piano_judge.npz`, made by ``python -m
training.classifiers.fit_piano_judge`` from takes on instruments whose partials were raised and
lowered key by key. Frames and bins are those of `stackline.listen.piano.features`.
"""

from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy.ndimage import maximum_filter1d

from stackline.listen.one_layer import OneLayer, load
from stackline.listen.piano.features import BINS_PER_KEY, N_BINS
from stackline.listen.piano.piano_habits import habit_inputs
from stackline.shared.units import N_KEYS

WEIGHTS = Path(__file__).parent / "weights" / "piano_judge.npz"

BACK, AHEAD = 8, 12  # frames around a candidate that are looked at
_ONSET_STEPS = (-2, -1, 0, 1, 2, 3)
_SUSTAIN_STEPS = (-8, -3, -1, 1, 3, 6, 12)
_DISTANCES = (1, 2, 3, 4, 5, 7, 12, 16, 19, 24, 28, 31, 36)
_RELATED = tuple(-d for d in reversed(_DISTANCES)) + _DISTANCES
_FARTHEST = max(_DISTANCES)
_TOGETHER = 2  # frames in which other keys count as struck at the same time
_ROWS = 4096  # candidates that a look takes at once
_CLIP = 8.0  # log odds beyond which the network is simply sure
_PARTIALS = (0, 36, 57, 72, 84, 93, 101, 108)  # bins above the first partial
_ABOVE_OCTAVE = (0, 57, 84, 101)  # odd partials of the key an octave below
_ABOVE_TWELFTH = (0, 36, 72, 84)  # partials 1, 2, 4, 5 of the key a twelfth below
CONTEXT_INPUTS = 1 + len(_ONSET_STEPS) + len(_SUSTAIN_STEPS) + len(_RELATED)  # the first of them
ATTACK_INPUTS = 5  # the last of them
N_INPUTS = (
    1 + len(_ONSET_STEPS) + len(_SUSTAIN_STEPS) + 3 * len(_RELATED)
    + 3 * len(_PARTIALS) + 2 * (len(_ABOVE_OCTAVE) + len(_ABOVE_TWELFTH)) + ATTACK_INPUTS
)  # fmt: skip


@lru_cache(maxsize=1)
def looks() -> tuple[OneLayer, OneLayer]:
    """The second and the third look, from the file of weights: what each adds to log odds."""
    return load(WEIGHTS, "second_"), load(WEIGHTS, "third_")


def judged(
    time_s: np.ndarray, key: np.ndarray, evidence: np.ndarray, columns: np.ndarray
) -> np.ndarray:
    """Log odds, (n,), that candidates (by time) were struck, after both looks.

    evidence: the network's log odds. columns: `inputs` of the candidates.
    """
    if not len(key):
        return evidence
    second, third = looks()
    blocks = [slice(first, first + _ROWS) for first in range(0, len(key), _ROWS)]
    before = habit_inputs(time_s, key, evidence)
    odds = evidence + np.concatenate(
        [second(second_inputs(columns[some], before[some])) for some in blocks]
    )
    after = habit_inputs(time_s, key, odds)
    final: np.ndarray = odds + np.concatenate(
        [third(third_inputs(evidence[s], odds[s], before[s], after[s])) for s in blocks]
    )
    return final


def second_inputs(columns: np.ndarray, habits: np.ndarray) -> np.ndarray:
    """What the second look sees, (n, N_INPUTS + N_HABITS)."""
    seen: np.ndarray = np.concatenate((columns.astype(np.float32), habits), axis=1)
    return seen


def third_inputs(
    evidence: np.ndarray, odds: np.ndarray, before: np.ndarray, after: np.ndarray
) -> np.ndarray:
    """What the third look sees, (n, 2 + 2 * N_HABITS): both log odds, both sets of habits."""
    own = np.clip(np.stack((evidence, odds), axis=1), -_CLIP, _CLIP).astype(np.float32)
    seen: np.ndarray = np.concatenate((own, before, after), axis=1)
    return seen


def inputs(logits: np.ndarray, seen: np.ndarray, rows: np.ndarray, keys: np.ndarray) -> np.ndarray:
    """What is seen of candidates between rows and the rows after: (n, N_INPUTS).

    logits: (4, n_frames, 88); seen: the features of the same frames, (3, n_frames, 264).
    Beyond both ends nothing is struck and nothing sounds.
    """
    if not len(rows):
        return np.zeros((0, N_INPUTS), np.float32)
    onset, held = (
        np.pad(np.clip(one, -_CLIP, _CLIP), ((BACK, AHEAD + 1), (0, 0)), constant_values=-_CLIP)
        for one in logits[:2]
    )
    at = rows + BACK
    pair = (onset[:-1] + onset[1:]) / 2
    columns = [
        pair[at, keys],
        *(onset[at + step, keys] for step in _ONSET_STEPS),
        *(held[at + step, keys] for step in _SUSTAIN_STEPS),
        *_other_keys(pair, held, at, keys),
        *_levels(seen, rows, keys),
        *_whole_attack(pair, at, keys),
    ]
    return np.stack(columns, axis=1).astype(np.float32)


def _other_keys(
    pair: np.ndarray, held: np.ndarray, at: np.ndarray, keys: np.ndarray
) -> list[np.ndarray]:
    """Related keys: struck at the same time, sounding after, sounding before."""
    struck = maximum_filter1d(pair, 2 * _TOGETHER + 1, axis=0, mode="nearest")[at]
    after = np.mean([held[at + step] for step in range(2, 9)], axis=0)
    before = np.mean([held[at - step] for step in range(2, 7)], axis=0)
    each, columns = np.arange(len(at)), []
    for values in (struck, after, before):
        padded = np.pad(values, ((0, 0), (_FARTHEST, _FARTHEST)), constant_values=-_CLIP)
        columns += [padded[each, keys + _FARTHEST + distance] for distance in _RELATED]
    return columns


def _levels(seen: np.ndarray, rows: np.ndarray, keys: np.ndarray) -> list[np.ndarray]:
    """Levels of partials against the candidate's strongest, and that one's own level."""
    n_frames = seen.shape[1]
    peaks = maximum_filter1d(seen, 3, axis=2, mode="nearest")
    fundamental = keys * BINS_PER_KEY + BINS_PER_KEY // 2
    after, before = np.minimum(rows + 4, n_frames - 1), np.maximum(rows - 3, 0)

    def level(window: int, frames: np.ndarray, shift: int) -> np.ndarray:
        bins = fundamental + shift
        inside = (bins >= 0) & (bins < N_BINS)
        found: np.ndarray = np.where(
            inside, peaks[window, frames, np.clip(bins, 0, N_BINS - 1)], -2.0
        )
        return found

    own = [level(1, after, shift) for shift in _PARTIALS]
    ring = [level(2, np.minimum(rows + 2, n_frames - 1), shift) for shift in _PARTIALS]
    old = [level(1, before, shift) for shift in _PARTIALS]
    below = [level(1, after, shift - 36) for shift in _ABOVE_OCTAVE]
    below += [level(2, np.minimum(rows + 2, n_frames - 1), shift - 36) for shift in _ABOVE_OCTAVE]
    below += [level(1, after, shift - 57) for shift in _ABOVE_TWELFTH]
    below += [level(2, np.minimum(rows + 2, n_frames - 1), shift - 57) for shift in _ABOVE_TWELFTH]
    loudest = np.max(own, axis=0)
    return [*(values - loudest for values in own + ring + old + below), loudest]


def _whole_attack(pair: np.ndarray, at: np.ndarray, keys: np.ndarray) -> list[np.ndarray]:
    """How much is struck at the time of the candidate, below it and above; its height."""
    near = maximum_filter1d(pair, 2 * _TOGETHER + 1, axis=0, mode="nearest")[at] > 0
    below = (near & (np.arange(N_KEYS) < keys[:, None])).sum(axis=1)
    height = keys / 44.0 - 1.0
    return [near.sum(axis=1) / 4, below / 4, height, height**2]
