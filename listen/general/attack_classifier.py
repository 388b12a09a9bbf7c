"""Which onset peaks of the general ear are real strikes: a small network over the keyboard.

The general ear's activations alone mislead: a loud note lights up the keys an octave, a
twelfth or two octaves above, an inner note of a dense chord stays faint, a key that is
struck again while it sounds hardly peaks. So each candidate is judged with what its own
key did before and after, what the keys at harmonic and neighbouring distances do at the
same time, and how much else is struck: 147 numbers, one hidden layer, one chance. Those that
may be strikes get a second look, which also has the chances of all keys struck at the same
time and the levels of partials in the recording (`partials`) before it: a faint key
over a sure one an octave below is read differently from a faint key by itself. A third look,
over the whole take, is `stackline.listen.general.take_classifier`.

Weights: `attack_classifier.npz`, made by ``python -m training.classifiers.fit_general_judge`` from
takes that were synthesised on instruments of the bank's ``train`` split; that file says how. Times
are in frames of the general ear, 256 / 22050 s = 11.6 ms.
"""

from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy.ndimage import maximum_filter1d

from stackline.listen.general.partials import N_LEVELS, SILENT, partial_levels
from stackline.listen.general.take_classifier import N_PARTIALS, N_STRENGTHS, Candidates, weighed
from stackline.listen.general.tracking import Around, Judge, Strikes
from stackline.listen.one_layer import OneLayer, load
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import N_KEYS

WEIGHTS = Path(__file__).parent / "weights" / "attack_classifier.npz"

_ONSET_STEPS = tuple(range(-4, 5))  # the candidate's own onset activation, frame by frame
_FRAME_STEPS = (-12, -6, -3, -1, 0, 1, 3, 6, 9, 12, 18, 25, 35, 50)  # frames from the onset
_SPANS = ((1, 6), (1, 13), (13, 40), (-8, -2), (-30, -8))  # means of the frame activation
_AGAIN = (6, 45)  # another strike of the same key, from and to this many frames away
# Semitones to the keys that share partials with the candidate or border on it.
_DISTANCES = (1, 2, 3, 4, 5, 7, 12, 16, 19, 24, 28, 31, 36)
_RELATED = tuple(-d for d in reversed(_DISTANCES)) + _DISTANCES
_NEAR = 3  # frames in which other keys count as struck at the same time
_COMPANY = 5  # frames in which chances count as of one attack (tracking's ATTACK_S)
_FARTHEST = max(_DISTANCES)
LOOKED_AT_AGAIN = 0.02  # first chance from which there is a second look
_BLOCK = 20_000  # candidates judged at once

N_FEATURES = len(_ONSET_STEPS) + len(_FRAME_STEPS) + len(_SPANS) + 2 + 4 * len(_RELATED) + 13  # 147
# Where among these the onset activation at the peak stands, and the frame activation after it.
STRENGTHS = (
    _ONSET_STEPS.index(0),
    len(_ONSET_STEPS) + len(_FRAME_STEPS) + _SPANS.index((1, 13)),
)
N_COMPANY = len(_RELATED) + 5  # numbers about related keys
N_SECOND = N_FEATURES + N_COMPANY + N_LEVELS


def judge_of(audio: Audio, tuning: Tuning) -> Judge:
    """The judge of a recording's candidates."""

    def judge(around: Around) -> np.ndarray:
        """The chance that each candidate was struck, levels of its partials, its strengths.

        See `stackline.listen.general.tracking.Judge`.
        """
        first, second = looks()
        inputs = features(around)
        chance = chances(first, inputs)
        seen = np.full((len(chance), N_PARTIALS + N_STRENGTHS), SILENT, np.float32)
        seen[:, N_PARTIALS:] = inputs[:, STRENGTHS]
        likely = chance >= LOOKED_AT_AGAIN
        if not likely.any():
            return np.column_stack((chance, seen))
        rows, keys = around.rows[likely], around.keys[likely]
        times_s = (rows + around.first_frame) / around.frames_per_s
        neighbours = company(around.rows, around.keys, chance)[likely]
        levels = partial_levels(audio, tuning, times_s, keys)
        seen_again = np.concatenate((inputs[likely], neighbours, levels), axis=1)
        chance[likely] = chances(second, seen_again)
        seen[likely, :N_PARTIALS] = levels[:, :N_PARTIALS]
        return np.column_stack((chance, seen))

    return judge


def review(strikes: Strikes) -> np.ndarray:
    """The chances after the third look, (n_strikes,); see `tracking.Review`."""
    chance = np.clip(strikes.chance, 1e-6, 1.0 - 1e-6)
    odds = weighed(
        Candidates(
            time_s=strikes.time_s,
            key=strikes.key,
            odds=np.log(chance / (1.0 - chance)),
            levels=strikes.seen[:, :N_PARTIALS],
            strength=strikes.seen[:, N_PARTIALS:],
        )
    )
    again: np.ndarray = 1.0 / (1.0 + np.exp(-odds))
    return again


@lru_cache(maxsize=1)
def looks() -> tuple[OneLayer, OneLayer]:
    """The two looks, from the file of weights: log odds."""
    return load(WEIGHTS, "first_"), load(WEIGHTS, "second_")


def chances(look: OneLayer, inputs: np.ndarray) -> np.ndarray:
    """Chances, shape (n,), that a look gives to inputs of shape (n, n_in)."""
    found: np.ndarray = 1.0 / (1.0 + np.exp(-np.clip(look(inputs), -30.0, 30.0)))
    return found


def company(rows: np.ndarray, keys: np.ndarray, chance: np.ndarray) -> np.ndarray:
    """What the second look sees besides: chances at the same time, float32, (n, 31).

    Of the related keys the highest within `_COMPANY` frames, of all keys their count and
    sum, the candidate's own, and the sums of those above and below it.
    """
    board = np.zeros((rows.max() + 2 * _COMPANY + 1, N_KEYS + 2 * _FARTHEST), np.float32)
    board[rows + _COMPANY, keys + _FARTHEST] = chance
    at, which = np.unique(rows, return_inverse=True)
    near = np.max([board[at + step] for step in range(2 * _COMPANY + 1)], axis=0)[which]
    sums = np.cumsum(near, axis=1)
    each, columns = np.arange(len(rows)), keys + _FARTHEST
    return np.stack(
        [
            *(near[each, columns + distance] for distance in _RELATED),
            (near > 0.5).sum(axis=1) / 8,
            sums[:, -1] / 8,
            chance,
            (sums[:, -1] - sums[each, columns]) / 4,
            sums[each, columns - 1] / 4,
        ],
        axis=1,
    ).astype(np.float32)


def features(around: Around) -> np.ndarray:
    """What the judge sees of each candidate, float32, shape (n_candidates, 147)."""
    near = maximum_filter1d(around.onset, 2 * _NEAR + 1, axis=0, mode="constant")
    total = np.concatenate((np.zeros((1, N_KEYS)), np.cumsum(around.frame, 0, np.float64)))
    parts = [np.zeros((0, N_FEATURES), np.float32)]
    for start in range(0, len(around.rows), _BLOCK):
        rows, keys = around.rows[start : start + _BLOCK], around.keys[start : start + _BLOCK]
        spans = [((total[rows + b] - total[rows + a]) / (b - a)) for a, b in _SPANS]
        columns = [
            *_own_key(around, rows, keys, spans),
            *_other_keys(near[rows], spans, keys),
            *_whole_attack(near[rows], spans, keys),
        ]
        parts.append(np.stack(columns, axis=1).astype(np.float32))
    return np.concatenate(parts)


def _own_key(
    around: Around, rows: np.ndarray, keys: np.ndarray, spans: list[np.ndarray]
) -> list[np.ndarray]:
    """What the candidate's key does around its peak."""
    each = np.arange(len(rows))
    before = [around.onset[rows - step, keys] for step in range(*_AGAIN)]
    after = [around.onset[rows + step, keys] for step in range(*_AGAIN)]
    return [
        *(around.onset[rows + step, keys] for step in _ONSET_STEPS),
        *(around.frame[rows + step, keys] for step in _FRAME_STEPS),
        *(span[each, keys] for span in spans),
        np.max(before, axis=0),
        np.max(after, axis=0),
    ]


def _other_keys(near: np.ndarray, spans: list[np.ndarray], keys: np.ndarray) -> list[np.ndarray]:
    """What related keys do at the time of the peak: struck, sounding after, sounding before."""
    each = np.arange(len(keys))
    columns = []
    for values in (near, spans[0], spans[1], spans[3]):
        padded = np.pad(values, ((0, 0), (_FARTHEST, _FARTHEST)))
        columns += [padded[each, keys + _FARTHEST + distance] for distance in _RELATED]
    return columns


def _whole_attack(near: np.ndarray, spans: list[np.ndarray], keys: np.ndarray) -> list[np.ndarray]:
    """How much is struck and sounds around the peak, above it and below it."""
    loudest = np.sort(near, axis=1)[:, ::-1]
    above = np.arange(N_KEYS) > keys[:, None]
    below = np.arange(N_KEYS) < keys[:, None]
    height = keys / 44.0 - 1.0
    return [
        loudest[:, 0],
        loudest[:, 2],
        loudest[:, 4],
        (near > 0.5).sum(axis=1) / 8,
        (near > 0.3).sum(axis=1) / 16,
        np.maximum(near - 0.25, 0.0).sum(axis=1) / 4,
        (spans[1] > 0.3).sum(axis=1) / 8,
        spans[1].max(axis=1),
        (spans[3] > 0.3).sum(axis=1) / 8,
        (near * above).max(axis=1),
        (near * below).max(axis=1),
        height,
        height**2,
    ]
