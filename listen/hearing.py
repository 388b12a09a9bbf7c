"""The whole of listening: a recording in, its notes, beats and attacks out."""

from dataclasses import dataclass
from pathlib import Path

from listen.attacks import find_attacks
from listen.beats import check_hints, find_beats
from listen.decode import decode
from listen.ear import Ear, Progress, silent
from listen.grid import with_positions
from listen.levels import with_levels
from listen.tuning import check_expected_a, estimate_tuning
from shared.notes import Attack, BeatGrid, Note
from shared.sound import Tuning
from shared.take import Source
from shared.units import CONCERT_A_HZ


@dataclass(frozen=True, kw_only=True)
class Hearing:
    """What was heard in a recording. Every note is struck in exactly one attack."""

    source: Source
    ear: str
    tuning: Tuning
    grid: BeatGrid
    notes: tuple[Note, ...]
    attacks: tuple[Attack, ...]


def hear(
    path: Path,
    *,
    ear: Ear,
    tempo_bpm: float | None = None,
    beats_per_bar: int | None = None,
    expected_a_hz: float = CONCERT_A_HZ,
    progress: Progress = silent,
) -> Hearing:
    """Listen to a recording. Silence, noise and speech give no attacks and no error.

    tempo_bpm, beats_per_bar, expected_a_hz: what the player knows; see `listen.beats` and
    `listen.tuning`. Raises Complaint for a file that is no recording or a hint out of range.
    """
    check_hints(tempo_bpm, beats_per_bar)
    check_expected_a(expected_a_hz)
    audio = decode(path, ear.sample_rate_hz, progress)
    tuning = estimate_tuning(audio, expected_a_hz=expected_a_hz)
    notes = with_levels(ear.hear(audio, tuning, progress), audio, tuning)
    attacks = find_attacks(notes)
    progress("finding the beats", 0.0)
    grid = find_beats(attacks, tempo_bpm=tempo_bpm, beats_per_bar=beats_per_bar)
    progress("finding the beats", 1.0)
    return Hearing(
        source=Source(name=audio.name, duration_s=audio.duration_s, sha256=audio.sha256),
        ear=ear.name,
        tuning=tuning,
        grid=grid,
        notes=notes,
        attacks=with_positions(attacks, grid),
    )
