"""From a recording to a take: hear, then read. The only place where the two rooms meet."""

from pathlib import Path
from typing import TYPE_CHECKING

from stackline.ears import DEFAULT_EAR, make_ear
from stackline.listen.ear import Ear, Progress, silent
from stackline.listen.hearing import hear
from stackline.shared.take import Take
from stackline.shared.units import CONCERT_A_HZ
from stackline.theory.reading import read
from stackline.version import __version__

if TYPE_CHECKING:
    from stackline.theory.given.changes import Changes


def transcribe(
    path: str | Path,
    *,
    ear: "str | Ear" = DEFAULT_EAR,
    changes: "Changes | None" = None,
    tempo_bpm: float | None = None,
    beats_per_bar: int | None = None,
    first_beat_s: float | None = None,
    count_in: int | None = None,
    expected_a_hz: float = CONCERT_A_HZ,
    progress: Progress = silent,
) -> Take:
    """Hear a recording and read its voicings.

    path: any sound or video file. ear: a name from `stackline.ears`, or an ear.
    changes: the chords of the tune, if known (`stackline.theory.given.changes.parse_changes`).
    tempo_bpm, beats_per_bar: hints; without them both are heard or left open.
    first_beat_s: when beat one of the first bar is, in seconds. count_in: how many clicks are
    counted before it. See `stackline.listen.time.time_hints`.
    expected_a_hz: what A is near, where the instrument stands a quarter tone or more off.
    progress: called with a stage in words and a fraction of it, 0 to 1.

    Returns a take; one without attacks if nothing was heard. Raises
    `stackline.shared.complaint.Complaint` for a file that cannot be read.
    """
    hearing = hear(
        Path(path),
        ear=make_ear(ear) if isinstance(ear, str) else ear,
        tempo_bpm=tempo_bpm,
        beats_per_bar=beats_per_bar,
        first_beat_s=first_beat_s,
        count_in=count_in,
        expected_a_hz=expected_a_hz,
        progress=progress,
    )
    reading = read(hearing.attacks, hearing.grid, changes=changes, end_s=hearing.source.duration_s)
    return Take(
        source=hearing.source,
        ear=hearing.ear,
        tuning_cents=hearing.tuning.offset_cents,
        grid=hearing.grid,
        notes=hearing.notes,
        attacks=hearing.attacks,
        voicings=reading.voicings,
        motions=reading.motions,
        version=__version__,
        not_playing=hearing.not_playing,
        swing_ratio=hearing.swing_ratio,
        rhythm=reading.rhythm,
    )
