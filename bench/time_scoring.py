"""How right a grid of beats is, against what was really played.

Over the stretch that was played, from the first attack to the last:

* beats: F-measure of mir_eval.beat (hits lie within 70 ms);
* downbeats: the same, of beats that are a one, against the true ones, meter and all;
* tempo: the mean one within 4 %;
* eighths: attacks that stand on the right eighth of the right beat of the bar (an attack
  later than a quarter and earlier than four fifths of its beat stands on its half, however
  it swings). Attacks that were heard within 80 ms of a true one count.

A grid is uncertain when it says so: no grid, or a confidence under one half.
"""

from dataclasses import dataclass

import mir_eval
import numpy as np

from bench.truth import TrueTake
from listen.hearing import Hearing

TEMPO_TOLERANCE = 0.04
FOUND_F = 0.8  # of beats that can be called found
NEAR_S = 0.08
_SLACK_S = 0.1


@dataclass(frozen=True, kw_only=True)
class Score:
    """One take. None where there is nothing to score: no pulse was played, no grid found.

    eighths: (right, of how many). false_attacks: heard where none was struck.
    """

    beat_f: float | None
    downbeat_f: float | None
    tempo_right: bool | None
    uncertain: bool
    no_grid: bool
    source: str
    eighths: tuple[int, int]
    false_attacks: int

    @property
    def is_found(self) -> bool:
        """Whether there is a grid and its beats are right."""
        return not self.no_grid and self.beat_f is not None and self.beat_f >= FOUND_F


def score(take: TrueTake, hearing: Hearing) -> Score:
    """Our grid against a take; `take.beats_s` is empty where no pulse was played."""
    grid = hearing.grid
    struck = np.array([attack.onset_s for attack in take.attacks])
    false = sum(np.min(np.abs(struck - one.onset_s)) > NEAR_S for one in hearing.attacks)
    has_pulse = bool(take.beats_s)
    downbeats = [beat.time_s for beat in grid.beats if beat.number == 1]
    return Score(
        beat_f=f_measure(take, take.beats_s, [b.time_s for b in grid.beats]) if has_pulse else None,
        downbeat_f=f_measure(take, take.beats_s[:: take.beats_per_bar], downbeats)
        if has_pulse
        else None,
        tempo_right=is_tempo_right(take, grid.tempo_bpm) if has_pulse else None,
        uncertain=grid.is_uncertain,
        no_grid=not grid.beats,
        source=grid.source,
        eighths=_eighths(take, hearing) if has_pulse else (0, 0),
        false_attacks=int(false),
    )


def is_tempo_right(take: TrueTake, tempo_bpm: float | None) -> bool:
    """Within 4 % of the mean tempo of the take."""
    return tempo_bpm is not None and abs(tempo_bpm / take.tempo_bpm - 1) <= TEMPO_TOLERANCE


def f_measure(
    take: TrueTake, true_s: tuple[float, ...], heard_s: "list[float] | np.ndarray"
) -> float:
    """mir_eval's F-measure of some beats between the first attack and the last."""
    first, last = take.attacks[0].onset_s - _SLACK_S, take.attacks[-1].onset_s + _SLACK_S
    true = np.array([time_s for time_s in true_s if first <= time_s <= last])
    heard = np.array([time_s for time_s in heard_s if first <= time_s <= last])
    return float(mir_eval.beat.f_measure(true, heard)) if len(heard) and len(true) else 0.0


def _eighths(take: TrueTake, hearing: Hearing) -> tuple[int, int]:
    """Attacks on the right eighth of the bar, of those that were heard and have a place."""
    struck = np.array([attack.onset_s for attack in take.attacks])
    beats = np.array(take.beats_s)
    index = np.arange(len(beats))
    right = total = 0
    for attack in hearing.attacks:
        nearest = int(np.argmin(np.abs(struck - attack.onset_s)))
        if attack.position is None or abs(struck[nearest] - attack.onset_s) > NEAR_S:
            continue
        place = float(np.interp(struck[nearest], beats, index))
        if not beats[0] - 0.05 <= struck[nearest] <= beats[-1]:
            continue
        total += 1
        heard = _eighth(float(attack.position.beat) - 1, hearing.grid.beats_per_bar)
        right += heard == _eighth(place, take.beats_per_bar)
    return right, total


def _eighth(place: float, per_bar: int) -> float:
    """The eighth of the bar that a place in beats stands on: 0, 0.5, 1 ..."""
    beat, part = divmod(place, 1.0)
    nearest = 0.5 if 0.25 <= part < 0.8 else 1.0 if part >= 0.8 else 0.0
    return (beat + nearest) % per_bar
