"""The count before the music: some even clicks, then the first beat of the first bar.

Common practice: a bar (or two) is counted in clicks, snapped fingers or sticks, and the music
starts on the next beat, give or take an anticipation or a rest. Without a hint a count is
three or more even clicks after which no click goes on at that pace; its last run of even
clicks tells tempo, phase and the one. With a hint of n, the first n even clicks are the
count, whatever follows. Seconds throughout.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.other_sounds.clicks import Clicks
from stackline.shared.notes import Attack

_FASTEST_S, _SLOWEST_S = 0.24, 1.6  # between clicks of a count
_EVEN = 1.08  # longest interval against the shortest
_CLEAR, _GONE_DB = 0.4, 7.0  # strength and fall of a click that may be a count's
_FEWEST, _MANY = 3, 4  # clicks of a count, and how many need not be so even
_VERY_EVEN = 1.03  # longest gap over shortest, of a count of few clicks (ours)
_SAME_S = 0.06  # an attack this near to a click of the count may be the click itself
_EARLY, _LATE = 1.2, 4.3  # first attack against the one, in beats
_GOES_ON = 0.1  # of a beat: a click this near to where the next would be


@dataclass(frozen=True, kw_only=True, eq=False)
class CountIn:
    """A count that was heard. clicks_s: (n,), rising; period_s: between them."""

    clicks_s: np.ndarray
    period_s: float

    @property
    def first_beat_s(self) -> float:
        """When the music's first bar begins."""
        return float(self.clicks_s[-1]) + self.period_s


def find_count_in(
    clicks: Clicks, attacks: Sequence[Attack], told: int | None = None
) -> CountIn | None:
    """The count before the first attack, or None. told: how many are counted, if known."""
    if not attacks:
        return None
    times = clicks.time_s[(clicks.strength >= _CLEAR) & (clicks.gone_db >= _GONE_DB)]
    if told is not None:
        return _first_even(times, told)
    onsets_s = np.array([attack.onset_s for attack in attacks])
    for last in range(len(times) - 1, _FEWEST - 2, -1):
        run = _even_run(times[: last + 1])
        if len(run) >= _FEWEST:
            found = CountIn(clicks_s=run, period_s=float(np.mean(np.diff(run))))
            if _leads_to(found, onsets_s) and not _goes_on(found, times):
                return found
    return None


def _even_run(times: np.ndarray) -> np.ndarray:
    """The longest even run that ends with the last of some times."""
    gaps = np.diff(times)[::-1]
    length = 0
    for count in range(1, len(gaps) + 1):
        if not _is_even(gaps[:count]):
            break
        length = count
    few = length + 1 < _MANY
    if few and length and gaps[:length].max() > _VERY_EVEN * gaps[:length].min():
        length = 0
    return times[len(times) - 1 - length :]


def _first_even(times: np.ndarray, told: int) -> CountIn | None:
    """The first `told` clicks in a row that are even; a single one tells no tempo."""
    if told < 2:
        return None
    for start in range(len(times) - told + 1):
        run = times[start : start + told]
        if _is_even(np.diff(run)):
            return CountIn(clicks_s=run, period_s=float(np.mean(np.diff(run))))
    return None


def _is_even(gaps: np.ndarray) -> bool:
    in_range = gaps.min() >= _FASTEST_S and gaps.max() <= _SLOWEST_S
    return bool(in_range and gaps.max() <= _EVEN * gaps.min())


def _leads_to(count: CountIn, onsets_s: np.ndarray) -> bool:
    """Whether the first attack that is no click of the count comes when music would begin."""
    is_click = np.min(np.abs(onsets_s[:, None] - count.clicks_s), axis=1) <= _SAME_S
    music_s = onsets_s[~is_click]
    if not len(music_s):
        return False
    after = (float(music_s[0]) - count.first_beat_s) / count.period_s
    return -_EARLY <= after <= _LATE


def _goes_on(count: CountIn, times: np.ndarray) -> bool:
    """Whether two of the next three beats are clicked as well: a metronome, not a count."""
    due = count.clicks_s[-1] + count.period_s * np.arange(1, 4)
    near = np.min(np.abs(times[:, None] - due), axis=0) < _GOES_ON * count.period_s
    return bool(near.sum() >= 2)
