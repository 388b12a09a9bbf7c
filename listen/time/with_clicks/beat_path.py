"""The path of beats through a take that explains its strokes best.

Dynamic programming over moments and lengths of the beat: a beat may stand at any frame, its
length against the tempo of that moment is one of some steps, and may change by a few steps
from beat to beat at a cost. So a player may drift, wait and slow down, and no beat is far
from the one before (after Ellis, "Beat tracking by dynamic programming", 2007, with
likelihoods of strokes in place of onset strength and the length of the beat as a state).

Frames are worked on in blocks no longer than the shortest beat: within a block none depends
on another.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.time.strokes import BINS, Strokes
from stackline.listen.time.with_clicks.pulse import TempoPath

_FRAMES_PER_S = 100
_LEAD_S = 2.5  # the path begins before the recording: the first beat may be silent
_STEP = 0.015  # between neighbouring lengths, relative
_MOST_CHANGE = 4  # steps from one beat to the next
_MOST_OFF_COST = 3.0  # per beat: a player who slows down at the end may
_SMOOTHED = 3  # neighbours on either side

_ANCHORED = 8.0  # log-likelihood that a beat gains from standing where one is known


@dataclass(frozen=True, kw_only=True)
class Bend:
    """How a path may bend, relative to a beat's length.

    reach: steps of 1.5 % to either side of the tempo. change: usual, from beat to beat.
    off: usual distance from the tempo.
    """

    reach: int
    change: float
    off: float


FREE = Bend(reach=23, change=0.02, off=0.10)  # a player alone: a beat is 0.7 to 1.4 of the tempo
ENDING = Bend(reach=23, change=0.02, off=0.20)  # one who slows down to the last chord
STIFF = Bend(reach=5, change=0.006, off=0.03)  # a player with a clock in the ear


@dataclass(frozen=True, kw_only=True, eq=False)
class Anchors:
    """Where beats are known to be. time_s: (n,), rising. spread: of that knowledge, in beats."""

    time_s: np.ndarray
    spread: float


def beat_times(
    strokes: Sequence[Strokes],
    path: TempoPath,
    anchors: Sequence[Anchors] = (),
    bend: Bend = FREE,
) -> np.ndarray:
    """Times of beats in seconds, from before the first stroke to after the last; may be < 0."""
    known = [one.time_s for one in strokes] + [one.time_s for one in anchors]
    known = [some_s for some_s in known if len(some_s)]
    start_s = min(times[0] for times in known) - _LEAD_S
    end_s = max(times[-1] for times in known) + _LEAD_S
    times = start_s + np.arange(round((end_s - start_s) * _FRAMES_PER_S)) / _FRAMES_PER_S
    periods_s = 60.0 / path.at(times)
    evidence = np.zeros(len(times))
    for some in strokes:
        _add_strokes(evidence, some, times, periods_s)
    for one in anchors:
        _add_anchors(evidence, one, times, periods_s)
    return _smooth(times[_best_frames(evidence, periods_s * _FRAMES_PER_S, bend)])


def _add_strokes(
    evidence: np.ndarray, some: Strokes, times: np.ndarray, periods_s: np.ndarray
) -> None:
    """How much likelier the strokes are if a beat stands at each frame.

    Strokes count from half a beat before the frame to half a beat after it, so each is
    counted once for beats that are a period apart.
    """
    for time_s, weight in zip(some.time_s, some.weight, strict=True):
        middle = min(int(np.searchsorted(times, time_s)), len(times) - 1)
        period_s = periods_s[middle]
        reach = int(period_s / 2 * _FRAMES_PER_S)
        frames = np.arange(max(0, middle - reach), min(len(times), middle + reach + 1))
        places = np.rint((time_s - times[frames]) / period_s * BINS).astype(int) % BINS
        evidence[frames] += weight * some.log_density(60.0 / period_s)[places]


def _add_anchors(
    evidence: np.ndarray, anchors: Anchors, times: np.ndarray, periods_s: np.ndarray
) -> None:
    for time_s in anchors.time_s:
        middle = min(int(np.searchsorted(times, time_s)), len(times) - 1)
        spread_s = anchors.spread * periods_s[middle]
        reach = int(4 * spread_s * _FRAMES_PER_S) + 1
        frames = slice(max(0, middle - reach), middle + reach + 1)
        off = (times[frames] - time_s) / spread_s
        evidence[frames] += _ANCHORED * np.exp(-0.5 * off**2)


def _best_frames(evidence: np.ndarray, periods: np.ndarray, bend: Bend) -> np.ndarray:
    """Frames of the best path; `periods` in frames."""
    steps = np.arange(-bend.reach, bend.reach + 1)
    lengths = np.exp(_STEP * steps)
    off_cost = np.minimum(0.5 * (_STEP * steps / bend.off) ** 2, _MOST_OFF_COST)
    changes = np.arange(-_MOST_CHANGE, _MOST_CHANGE + 1)
    change_cost = 0.5 * (_STEP * changes / bend.change) ** 2
    before = steps[:, None] + bend.reach + changes  # (n_lengths, n_changes)
    allowed = (before >= 0) & (before < len(steps))
    before = np.clip(before, 0, len(steps) - 1)
    cost = np.where(allowed, off_cost[:, None] + change_cost, np.inf)

    n_frames, block = len(evidence), max(1, int(periods.min() * lengths[0]) - 1)
    lead = int(np.ceil(periods.max() * lengths[-1])) + 1
    recent = np.zeros((lead, len(steps)))  # scores of the last frames; before the start: free
    came = np.zeros((n_frames, len(steps)), np.int8)
    for first in range(0, n_frames, block):
        part = np.arange(first, min(n_frames, first + block))
        lags = np.rint(periods[part, None] * lengths).astype(int)  # (n_part, n_lengths)
        options = recent[(lead - first + part[:, None] - lags)[:, :, None], before] - cost
        choice = options.argmax(axis=2)
        came[part] = choice
        best = np.take_along_axis(options, choice[:, :, None], axis=2)[:, :, 0]
        recent = np.concatenate((recent, evidence[part, None] + best))[-lead:]
    return _traced(recent, came, before, periods, lengths)


def _traced(
    recent: np.ndarray,
    came: np.ndarray,
    before: np.ndarray,
    periods: np.ndarray,
    lengths: np.ndarray,
) -> np.ndarray:
    """The path back from the best last beat, which lies within a period of the end."""
    within = max(1, int(periods[-1]))
    last, length = divmod(int(recent[-within:].argmax()), recent.shape[1])
    frame, path = len(came) - within + last, []
    while frame >= 0:
        path.append(frame)
        lag = int(np.rint(periods[frame] * lengths[length]))
        length = int(before[length, came[frame, length]])
        frame -= lag
    return np.array(path[::-1])


def _smooth(beats: np.ndarray) -> np.ndarray:
    """Beats averaged with their neighbours: the path's frames are coarser than a player."""
    reach = min(_SMOOTHED, len(beats) - 1)
    if reach < 1:
        return beats
    before = 2 * beats[0] - beats[reach:0:-1]
    after = 2 * beats[-1] - beats[-2 : -2 - reach : -1]
    width = 2 * reach + 1
    return np.convolve(np.concatenate((before, beats, after)), np.ones(width) / width, "valid")
