"""What a player may say about the time of a take, and whether it can be."""

from dataclasses import dataclass

from stackline.shared.complaint import Complaint
from stackline.shared.units import FASTEST_BPM, SLOWEST_BPM, is_tempo

SLOWEST_HINT_BPM, FASTEST_HINT_BPM = SLOWEST_BPM, FASTEST_BPM
MOST_BEATS_PER_BAR = 16
MOST_COUNTED = 16  # clicks of a count-in (ours)


@dataclass(frozen=True, kw_only=True)
class TimeHints:
    """The player's word, which is believed; None for what he did not say.

    tempo_bpm: beats a minute, 30 to 400; the player may be some per cent off it.
    beats_per_bar: 1 to 16. first_beat_s: seconds from the start of the recording to beat one
    of the first bar; if something is played before it, bars are counted back from there.
    count_in: how many clicks (or other sharp sounds) are counted before that beat, 2 to 16:
    the first such row of even clicks gives tempo, beats and the one; where none is heard the
    hint changes nothing. Where both are given, first_beat_s says where the one is.
    """

    tempo_bpm: float | None = None
    beats_per_bar: int | None = None
    first_beat_s: float | None = None
    count_in: int | None = None


NO_HINTS = TimeHints()


def check_hints(hints: TimeHints) -> None:
    """Raise Complaint for hints that cannot be."""
    bpm, per_bar = hints.tempo_bpm, hints.beats_per_bar
    if bpm is not None and not is_tempo(bpm):
        raise Complaint(
            f"a tempo of {bpm:g} beats a minute is out of range; give "
            f"{SLOWEST_HINT_BPM:g} to {FASTEST_HINT_BPM:g}"
        )
    if per_bar is not None and not 1 <= per_bar <= MOST_BEATS_PER_BAR:
        raise Complaint(
            f"a bar of {per_bar} beats is out of range; give 1 to {MOST_BEATS_PER_BAR}, such as 4"
        )
    if hints.first_beat_s is not None and not 0.0 <= hints.first_beat_s < float("inf"):
        raise Complaint(
            f"a first beat at {hints.first_beat_s:g} s is out of range; give the seconds from "
            "the start of the recording, such as 2.4"
        )
    if hints.count_in is not None and not 2 <= hints.count_in <= MOST_COUNTED:
        raise Complaint(
            f"a count of {hints.count_in} is out of range; give how many clicks come before "
            f"the first beat, 2 to {MOST_COUNTED}, such as 4"
        )


def check_first_beat(hints: TimeHints, duration_s: float) -> None:
    """Raise Complaint for a first beat that lies beyond the recording."""
    if hints.first_beat_s is not None and hints.first_beat_s >= duration_s:
        raise Complaint(
            f"the first beat is said to be at {hints.first_beat_s:g} s, but the recording ends "
            f"at {duration_s:.1f} s; give a moment before its end"
        )
