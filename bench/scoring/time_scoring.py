"""How right a grid of beats is, against what was really played.

Over the stretch that was played, from the first attack to the last, without the passages
that were played out of time:

* beats: F-measure of mir_eval.beat (hits lie within 70 ms);
* downbeats: the same, of beats that are a one, against the true ones, meter and all;
* tempo: the median one within 4 %;
* eighths: attacks that stand on the right eighth of the right beat of the bar (an attack
  later than a quarter and earlier than four fifths of its beat stands on its half, however
  it swings). Attacks that were heard within 80 ms of a true one count;
* left out: attacks in time that are reported as out of time.

Of a passage out of time: how many of its attacks are recognised, stand on the right eighth
all the same, or are given a wrong place.

A grid is uncertain when it says so: no grid, or a confidence under one half.
"""

from dataclasses import dataclass

import mir_eval
import numpy as np

from fixtures.played.truth import TrueTake
from stackline.listen.hearing import Hearing

TEMPO_TOLERANCE = 0.04
HIT_S = 0.07  # mir_eval's
FOUND_F = 0.8  # of beats that can be called found
NEAR_S = 0.08
_SLACK_S = 0.1
_EDGE_S = 0.02  # an attack this near to the end of a passage belongs to neither


@dataclass(frozen=True, kw_only=True)
class Score:
    """One take. None where there is nothing to score: no pulse was played, no grid found.

    eighths: (right, of how many). left_out: attacks in time without a place. free: attacks
    out of time (told, right all the same, wrong). false_attacks: heard where none was struck.
    """

    beat_f: float | None
    downbeat_f: float | None
    tempo_right: bool | None
    uncertain: bool
    no_grid: bool
    source: str
    eighths: tuple[int, int]
    left_out: int
    free: tuple[int, int, int]
    false_attacks: int

    @property
    def is_found(self) -> bool:
        """Whether there is a grid and its beats are right."""
        return not self.no_grid and self.beat_f is not None and self.beat_f >= FOUND_F


Spans = tuple[tuple[float, float], ...]


def score(take: TrueTake, hearing: Hearing, free_s: Spans = ()) -> Score:
    """Our grid against a take; `take.beats_s` is empty where no pulse was played.

    free_s: passages that were played out of time.
    """
    grid = hearing.grid
    struck = np.array([attack.onset_s for attack in take.attacks])
    false = sum(np.min(np.abs(struck - one.onset_s)) > NEAR_S for one in hearing.attacks)
    has_pulse = bool(take.beats_s)
    beats = [beat.time_s for beat in grid.beats]
    ones = [beat.time_s for beat in grid.beats if beat.number == 1]
    true_ones = take.beats_s[:: take.beats_per_bar]
    placed = _placed(take, hearing, free_s) if has_pulse else _Placed()
    return Score(
        beat_f=f_measure(take, take.beats_s, beats, free_s) if has_pulse else None,
        downbeat_f=f_measure(take, true_ones, ones, free_s) if has_pulse else None,
        tempo_right=is_tempo_right(take, grid.tempo_bpm) if has_pulse else None,
        uncertain=grid.is_uncertain,
        no_grid=not grid.beats,
        source=grid.source,
        eighths=(placed.right, placed.right + placed.wrong),
        left_out=placed.left_out,
        free=(placed.free_told, placed.free_right, placed.free_wrong),
        false_attacks=int(false),
    )


def is_tempo_right(take: TrueTake, tempo_bpm: float | None) -> bool:
    """Within 4 % of the tempo of the take."""
    return tempo_bpm is not None and abs(tempo_bpm / take.tempo_bpm - 1) <= TEMPO_TOLERANCE


def f_measure(
    take: TrueTake,
    true_s: tuple[float, ...],
    heard_s: "list[float] | np.ndarray",
    free_s: Spans = (),
) -> float:
    """mir_eval's F-measure of some beats in time, between the first attack and the last."""
    first, last = take.attacks[0].onset_s - _SLACK_S, take.attacks[-1].onset_s + _SLACK_S

    def counted(times_s: "tuple[float, ...] | list[float] | np.ndarray") -> np.ndarray:
        inside = [one for one in times_s if first <= one <= last]
        return np.array([one for one in inside if not _is_free(one, free_s, HIT_S)])

    true, heard = counted(true_s), counted(heard_s)
    return float(mir_eval.beat.f_measure(true, heard)) if len(heard) and len(true) else 0.0


def _is_free(time_s: float, free_s: Spans, margin_s: float) -> bool:
    """Whether a moment lies in a passage out of time, further than a margin from its ends."""
    return any(start_s + margin_s < time_s < end_s - margin_s for start_s, end_s in free_s)


@dataclass
class _Placed:
    """How many attacks were placed how."""

    right: int = 0
    wrong: int = 0
    left_out: int = 0
    free_told: int = 0
    free_right: int = 0
    free_wrong: int = 0


def _placed(take: TrueTake, hearing: Hearing, free_s: Spans) -> _Placed:
    """The places of the attacks that were heard, where beats were played."""
    struck = np.array([attack.onset_s for attack in take.attacks])
    beats = np.array(take.beats_s)
    index = np.arange(len(beats))
    found = _Placed()
    for attack in hearing.attacks:
        true_s = float(struck[np.argmin(np.abs(struck - attack.onset_s))])
        if abs(true_s - attack.onset_s) > NEAR_S or not beats[0] - 0.05 <= true_s <= beats[-1]:
            continue
        is_free = _is_free(true_s, free_s, _EDGE_S)
        if attack.position is None:
            found.free_told += is_free
            found.left_out += not is_free and bool(hearing.grid.beats)
            continue
        heard = _eighth(float(attack.position.beat) - 1, hearing.grid.beats_per_bar)
        place = float(np.interp(true_s, beats, index))
        is_right = heard == _eighth(place, take.beats_per_bar)
        if is_free:
            found.free_right += is_right
            found.free_wrong += not is_right
        else:
            found.right += is_right
            found.wrong += not is_right
    return found


def _eighth(place: float, per_bar: int) -> float:
    """The eighth of the bar that a place in beats stands on: 0, 0.5, 1 ..."""
    beat, part = divmod(place, 1.0)
    nearest = 0.5 if 0.25 <= part < 0.8 else 1.0 if part >= 0.8 else 0.0
    return (beat + nearest) % per_bar
