"""The whole of listening: a recording in, its notes, beats and attacks out."""

from dataclasses import dataclass
from pathlib import Path

from listen.attacks import find_attacks
from listen.beats import find_beats
from listen.clicked_notes import without_clicked
from listen.clicks import find_clicks
from listen.decode import decode
from listen.ear import Ear, Progress, silent
from listen.grid import with_positions
from listen.levels import with_levels
from listen.not_playing import sort_out
from listen.swing_ratio import swing_ratio
from listen.time_hints import TimeHints, check_first_beat, check_hints
from listen.tuning import check_expected_a, estimate_tuning
from shared.notes import Attack, BeatGrid, Note, Span
from shared.sound import Tuning
from shared.take import Source
from shared.units import CONCERT_A_HZ


@dataclass(frozen=True, kw_only=True)
class Hearing:
    """What was heard in a recording. Every note is struck in exactly one attack.

    not_playing: where something else sounds (`listen.not_playing`). swing_ratio: see
    `listen.swing_ratio`.
    """

    source: Source
    ear: str
    tuning: Tuning
    grid: BeatGrid
    notes: tuple[Note, ...]
    attacks: tuple[Attack, ...]
    not_playing: tuple[Span, ...] = ()
    swing_ratio: float | None = None


def hear(
    path: Path,
    *,
    ear: Ear,
    tempo_bpm: float | None = None,
    beats_per_bar: int | None = None,
    first_beat_s: float | None = None,
    count_in: int | None = None,
    expected_a_hz: float = CONCERT_A_HZ,
    progress: Progress = silent,
) -> Hearing:
    """Listen to a recording. Silence, noise and speech give no attacks and no error.

    tempo_bpm, beats_per_bar, first_beat_s, count_in, expected_a_hz: what the player knows; see
    `listen.time_hints` and `listen.tuning`. Raises Complaint for a file that is no recording
    or a hint out of range.
    """
    hints = TimeHints(
        tempo_bpm=tempo_bpm,
        beats_per_bar=beats_per_bar,
        first_beat_s=first_beat_s,
        count_in=count_in,
    )
    check_hints(hints)
    check_expected_a(expected_a_hz)
    audio = decode(path, ear.sample_rate_hz, progress)
    check_first_beat(hints, audio.duration_s)
    tuning = estimate_tuning(audio, expected_a_hz=expected_a_hz)
    clicks = find_clicks(audio)
    struck = without_clicked(ear.hear(audio, tuning, progress), clicks, audio, tuning)
    played, not_playing = sort_out(audio, struck)
    notes = played if ear.hears_velocity else with_levels(played, audio, tuning)
    attacks = find_attacks(notes)
    progress("finding the beats", 0.0)
    grid = find_beats(attacks, clicks=clicks, hints=hints)
    progress("finding the beats", 1.0)
    return Hearing(
        source=Source(name=audio.name, duration_s=audio.duration_s, sha256=audio.sha256),
        ear=ear.name,
        tuning=tuning,
        grid=grid,
        notes=notes,
        attacks=with_positions(attacks, grid),
        not_playing=not_playing,
        swing_ratio=swing_ratio(attacks, grid),
    )
