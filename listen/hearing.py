"""The whole of listening: a recording in, its notes, beats and attacks out."""

from dataclasses import dataclass
from pathlib import Path

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.grid import with_positions
from stackline.listen.attacks.levels import with_levels
from stackline.listen.attacks.swing_ratio import swing_ratio
from stackline.listen.ear import Ear, Progress, silent
from stackline.listen.other_sounds.clicked_notes import without_clicked
from stackline.listen.other_sounds.clicks import find_clicks
from stackline.listen.other_sounds.not_playing import sort_out
from stackline.listen.recording.decode import decode
from stackline.listen.recording.tuning import check_expected_a, estimate_tuning
from stackline.listen.time.beats import find_beats
from stackline.listen.time.hint_remarks import hint_remarks
from stackline.listen.time.time_hints import NO_HINTS, TimeHints, check_first_beat, check_hints
from stackline.shared.notes import Attack, BeatGrid, Note, Span
from stackline.shared.sound import Audio, Tuning
from stackline.shared.take import Source
from stackline.shared.units import CONCERT_A_HZ


@dataclass(frozen=True, kw_only=True)
class Hearing:
    """What was heard in a recording. Every note is struck in exactly one attack.

    not_playing: where something else sounds (`not_playing`). swing_ratio: see
    `stackline.listen.attacks.swing_ratio`. remarks: what of the hints was not followed, or goes
    against what is heard.
    """

    source: Source
    ear: str
    tuning: Tuning
    grid: BeatGrid
    notes: tuple[Note, ...]
    attacks: tuple[Attack, ...]
    not_playing: tuple[Span, ...] = ()
    swing_ratio: float | None = None
    remarks: tuple[str, ...] = ()


def hear(
    path: Path,
    *,
    ear: Ear,
    hints: TimeHints = NO_HINTS,
    expected_a_hz: float = CONCERT_A_HZ,
    progress: Progress = silent,
) -> Hearing:
    """Listen to a recording in a file; see `hear_audio`.

    Raises Complaint for a file that is not a recording or a hint out of range, and for the latter
    before the file is read.
    """
    check_hints(hints)
    check_expected_a(expected_a_hz)
    audio = decode(path, ear.sample_rate_hz, progress)
    return hear_audio(audio, ear=ear, hints=hints, expected_a_hz=expected_a_hz, progress=progress)


def hear_audio(
    audio: Audio,
    *,
    ear: Ear,
    hints: TimeHints = NO_HINTS,
    expected_a_hz: float = CONCERT_A_HZ,
    progress: Progress = silent,
) -> Hearing:
    """Listen to a recording. Silence, noise and speech give no attacks and no error.

    audio: at the rate that the ear wants. hints, expected_a_hz (of the A above middle C): what the
    player knows; see `time_hints` and `tuning`. Raises Complaint for a hint out of range.
    """
    check_hints(hints)
    check_expected_a(expected_a_hz)
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
        source=Source(
            name=audio.name,
            duration_s=audio.duration_s,
            sha256=audio.sha256,
            broken_off_s=audio.broken_off_s,
            unread=audio.unread,
            cut_from=audio.cut_from,
        ),
        ear=ear.name,
        tuning=tuning,
        grid=grid,
        notes=notes,
        attacks=with_positions(attacks, grid),
        not_playing=not_playing,
        swing_ratio=swing_ratio(attacks, grid),
        remarks=hint_remarks(attacks, clicks, hints, grid),
    )
