"""The beats of a take from its attacks, or the honest absence of a pulse.

The tempo, window by window, is that of `listen.pulse` or the player's word. Beats are the
path through time that explains the attacks best under the same model of where attacks
fall in a beat, with a penalty for beats that are shorter or longer than the tempo says
(dynamic programming as in Ellis, "Beat tracking by dynamic programming", 2007, with
likelihoods in place of onset strength; generic onset-strength trackers take the swung
off-beats of comping for beats).

Some path always exists, even through rubato. Beats are believed when the attacks are
clearly likelier on them than anywhere; otherwise the grid is empty and the tempo None.
"""

from collections.abc import Sequence

import numpy as np

from listen.bars import USUAL_BEATS_PER_BAR, number_beats
from listen.pulse import BINS, TempoPath, density, tempo_path
from shared.complaint import Complaint
from shared.notes import Attack, BeatGrid

SLOWEST_HINT_BPM, FASTEST_HINT_BPM = 30.0, 400.0
MOST_BEATS_PER_BAR = 16

_FRAMES_PER_S = 100
_LEAD_S = 2.5  # the path begins before the recording: the first beat may be silent
_STIFFNESS = 1600.0  # cost of a beat whose length is off, per squared relative error
_SHORTEST, _LONGEST = 0.8, 1.25  # of a beat, against the tempo
_SMOOTHED = 3  # neighbours on either side
_FEWEST_ATTACKS = 8  # fewer show no pulse
# Log-likelihood per attack on the beats, against what the model expects of itself. Random
# attacks reach 0.0 to 1.2, comping of bench takes 1.5 to 2.2 (median 1.8).
_RANDOM, _SURE = 1.25, 1.6
_SETTLED = 4.0  # by how much off-beats must be less likely to be out of the question


def find_beats(
    attacks: Sequence[Attack],
    *,
    tempo_bpm: float | None = None,
    beats_per_bar: int | None = None,
) -> BeatGrid:
    """The beat grid of a take, from at or before its first attack to after its last.

    tempo_bpm, beats_per_bar: the player's word, which is believed. Raises Complaint for a
    tempo outside 30..400 or a bar outside 1..16 beats. Empty without a steady pulse.
    """
    check_hints(tempo_bpm, beats_per_bar)
    silence = BeatGrid(
        beats_per_bar=beats_per_bar or USUAL_BEATS_PER_BAR,
        source="hint" if beats_per_bar else "assumed",
    )
    if len(attacks) < (1 if tempo_bpm else _FEWEST_ATTACKS):
        return silence
    onsets_s = np.array([attack.onset_s for attack in attacks])
    weights = np.array([max(note.confidence for note in one.struck) for one in attacks])
    path = _steady(tempo_bpm) if tempo_bpm else tempo_path(onsets_s, weights)
    times_s = _beat_times(onsets_s, weights, path)
    confidence = 1.0 if tempo_bpm else _confidence(onsets_s, times_s)
    if confidence <= 0.0:
        return silence
    return number_beats(
        times_s, attacks, beats_per_bar=beats_per_bar, confidence=round(confidence, 3)
    )


def check_hints(tempo_bpm: float | None, beats_per_bar: int | None) -> None:
    """Raise Complaint for hints out of range."""
    if tempo_bpm is not None and not SLOWEST_HINT_BPM <= tempo_bpm <= FASTEST_HINT_BPM:
        raise Complaint(
            f"a tempo of {tempo_bpm:g} beats a minute is out of range; give "
            f"{SLOWEST_HINT_BPM:g} to {FASTEST_HINT_BPM:g}"
        )
    if beats_per_bar is not None and not 1 <= beats_per_bar <= MOST_BEATS_PER_BAR:
        raise Complaint(
            f"a bar of {beats_per_bar} beats is out of range; give 1 to "
            f"{MOST_BEATS_PER_BAR}, such as 4"
        )


def _steady(bpm: float) -> TempoPath:
    return TempoPath(time_s=np.zeros(1), bpm=np.array([bpm]))


def _beat_times(onsets_s: np.ndarray, weights: np.ndarray, path: TempoPath) -> np.ndarray:
    """Times of beats from at or before the first attack to after the last, seconds >= 0."""
    start_s = onsets_s[0] - _LEAD_S
    n_frames = round((onsets_s[-1] - start_s + _LEAD_S) * _FRAMES_PER_S)
    times = start_s + np.arange(n_frames) / _FRAMES_PER_S
    periods_s = 60.0 / path.at(times)
    path_frames = _best_beats(_evidence(onsets_s, weights, times, periods_s), periods_s)
    beats = _smooth(times[path_frames])
    slack_s = 0.1 * periods_s[0]
    first = max(0, int(np.searchsorted(beats, onsets_s[0] + slack_s)) - 1)
    last = int(np.searchsorted(beats, onsets_s[-1] + slack_s))
    beats = beats[first : last + 1]
    return np.maximum(beats, 0.0) if beats[0] > -slack_s else beats[beats >= 0.0]


def _evidence(
    onsets_s: np.ndarray, weights: np.ndarray, times: np.ndarray, periods_s: np.ndarray
) -> np.ndarray:
    """For each frame, how much likelier the attacks are if a beat stands there.

    Attacks count from half a beat before the frame to half a beat after it, so each is
    counted once for beats that are a period apart.
    """
    evidence = np.zeros(len(times))
    for onset_s, weight in zip(onsets_s, weights, strict=True):
        middle = int(np.searchsorted(times, onset_s))
        period_s = periods_s[min(middle, len(times) - 1)]
        reach = int(period_s / 2 * _FRAMES_PER_S)
        frames = np.arange(max(0, middle - reach), min(len(times), middle + reach + 1))
        places = np.rint((onset_s - times[frames]) / period_s * BINS).astype(int) % BINS
        evidence[frames] += weight * np.log(density(60.0 / period_s))[places]
    return evidence


def _best_beats(evidence: np.ndarray, periods_s: np.ndarray) -> np.ndarray:
    """Frames of the best path: evidence at its beats, less the cost of uneven beats."""
    score, back = evidence.copy(), np.full(len(evidence), -1)
    periods = periods_s * _FRAMES_PER_S
    for frame in range(int(np.ceil(periods[0])), len(evidence)):
        period = periods[frame]
        first, last = max(0, int(frame - _LONGEST * period)), int(frame - _SHORTEST * period)
        before = np.arange(first, last + 1)
        uneven = np.log((frame - before) / period)
        options = score[before] - _STIFFNESS * uneven**2
        best = int(options.argmax())
        score[frame] += options[best]
        back[frame] = before[best]
    tail = len(score) - int(periods[-1])
    frame = tail + int(score[tail:].argmax())
    path = []
    while frame >= 0:
        path.append(frame)
        frame = int(back[frame])
    return np.array(path[::-1])


def _confidence(onsets_s: np.ndarray, times_s: np.ndarray) -> float:
    """0 when attacks are no likelier on these beats than random ones would be, to 1.

    It is also low when the off-beats would explain the attacks nearly as well.
    """
    places = np.interp(onsets_s, times_s, np.arange(len(times_s)))
    model = density(60.0 / float(np.median(np.diff(times_s))))
    reached, off_beat = (
        np.log(model)[np.rint((places + shift) * BINS).astype(int) % BINS] for shift in (0.0, 0.5)
    )
    expected = float(np.mean(model * np.log(model)))
    share = (float(reached.mean()) / expected - _RANDOM) / (_SURE - _RANDOM)
    doubt = np.exp(-max(0.0, float(np.sum(reached - off_beat))) / _SETTLED)
    return min(1.0, max(0.0, share)) * (1.0 - float(doubt) / 2.0)


def _smooth(beats: np.ndarray) -> np.ndarray:
    """Beats averaged with their neighbours: the path's frames are coarser than a player."""
    reach = min(_SMOOTHED, len(beats) - 1)
    if reach < 1:
        return beats
    before = 2 * beats[0] - beats[reach:0:-1]
    after = 2 * beats[-1] - beats[-2 : -2 - reach : -1]
    width = 2 * reach + 1
    return np.convolve(np.concatenate((before, beats, after)), np.ones(width) / width, "valid")
