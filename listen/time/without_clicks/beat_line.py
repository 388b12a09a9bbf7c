"""The times of beats, from attacks whose places on them are known.

Beats should be even, and attacks near their places: the line of beats that errs least in both,
each error reckoned in its usual size (least squares, a discrete smoothing spline after
E. T. Whittaker, Proc. Edinburgh Math. Soc. 41, 1923; memory). How late a player's off-beats
come is a habit of his, so it is measured first and taken off.

Units: seconds; places in beats.
"""

import numpy as np
from scipy.sparse import csc_matrix, diags_array, vstack
from scipy.sparse.linalg import spsolve

_TIMING_S, _TIMING_BEATS = 0.015, 0.015  # of an attack round its beat
_BEND = 0.02  # usual change of a beat's length to the next, relative
_ROUNDS = 5  # in which off-beats are measured anew


def beat_line(places: np.ndarray, times_s: np.ndarray, period_s: np.ndarray) -> np.ndarray:
    """Times of the beats from the last at or before the first place to the next after the last.

    places: (n,), rising, in beats; times_s: (n,), of the attacks there; period_s: (n,), of a
    beat at each, roughly. Beat 0 of the line is ``floor(places[0])``.
    """
    first, last = int(np.floor(places[0])), int(np.floor(places[-1])) + 1
    beats = np.arange(first, last + 1)
    length_s = np.interp(beats, places, period_s)
    late = np.zeros(len(places))
    is_off = (places % 1.0 > 0.4) & (places % 1.0 < 0.75)
    for _ in range(_ROUNDS):
        line = _fitted(places + late - first, times_s, length_s)
        if not is_off.any():
            break
        heard = np.interp(times_s, line, np.arange(len(line)))
        late[is_off] = np.median((heard + first - places)[is_off])
    return line


def _fitted(at: np.ndarray, times_s: np.ndarray, length_s: np.ndarray) -> np.ndarray:
    """The line through attacks at `at` (beats from the line's first), for beats of a length."""
    count = len(length_s)
    index = np.clip(np.floor(at).astype(int), 0, count - 2)
    part = at - index
    rows = np.arange(len(at))
    near = csc_matrix(
        (
            np.concatenate((1 - part, part)),
            (np.concatenate((rows, rows)), np.concatenate((index, index + 1))),
        ),
        shape=(len(at), count),
    )
    near = diags_array(1 / np.hypot(_TIMING_S, _TIMING_BEATS * length_s[index])) @ near
    wanted = times_s / np.hypot(_TIMING_S, _TIMING_BEATS * length_s[index])
    if count > 2:
        middle = length_s[1:-1]
        even = diags_array(
            [np.ones(count - 2), np.full(count - 2, -2.0), np.ones(count - 2)],
            offsets=[0, 1, 2],
            shape=(count - 2, count),
        )
        near = vstack((near, diags_array(1 / (_BEND * middle)) @ even))
        wanted = np.concatenate((wanted, np.zeros(count - 2)))
    if len(at) < 2 or np.ptp(at) < 1e-6:  # nothing tells the length but the tempo
        start_s = float(times_s[0] - at[0] * length_s[0])
        return start_s + np.concatenate(([0.0], np.cumsum(length_s[:-1])))
    square = csc_matrix(near.T @ near)
    found: np.ndarray = spsolve(square, near.T @ wanted)
    return found
