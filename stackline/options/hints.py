"""What a player may tell about a take beforehand: its time, its changes. Read and checked."""

from pathlib import Path
from typing import TYPE_CHECKING

from stackline.listen.time.time_hints import MOST_COUNTED, TimeHints
from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.theory.given.changes import Changes

SLOWEST_BPM, FASTEST_BPM = 20.0, 400.0
METERS = range(2, 8)


def read_tempo(tempo_bpm: float | None) -> float | None:
    """A tempo in beats a minute, or None; raises Complaint outside 20..400."""
    if tempo_bpm is not None and not SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM:
        raise Complaint(
            f"--tempo {tempo_bpm:g}: allowed are {SLOWEST_BPM:g} to {FASTEST_BPM:g} "
            "beats a minute; for example --tempo 92"
        )
    return tempo_bpm


def read_meter(meter: str | None) -> int | None:
    """Beats in a bar from ``3/4``; raises Complaint for what is not 2/4 to 7/4."""
    if meter is None:
        return None
    above, _, below = meter.partition("/")
    if below != "4" or not above.isdecimal() or int(above) not in METERS:
        raise Complaint(f"--meter {meter!r}: allowed are 2/4 to 7/4; for example --meter 3/4")
    return int(above)


def read_time(
    tempo_bpm: float | None,
    meter: str | None,
    first_beat_s: float | None,
    count_in: int | None,
    *,
    recordings: int = 1,
) -> TimeHints:
    """All that a player says of the time of his recordings; raises Complaint for nonsense."""
    if first_beat_s is not None and recordings > 1:
        raise Complaint(
            "--first-beat is a moment of one recording, but several were given; run them one by one"
        )
    if first_beat_s is not None and not 0.0 <= first_beat_s < float("inf"):
        raise Complaint(
            f"--first-beat {first_beat_s:g}: allowed are seconds from the start of the "
            "recording; for example --first-beat 2.4"
        )
    if count_in is not None and not 2 <= count_in <= MOST_COUNTED:
        raise Complaint(
            f"--count-in {count_in}: allowed are 2 to {MOST_COUNTED} beats; "
            "for example --count-in 4"
        )
    return TimeHints(
        tempo_bpm=read_tempo(tempo_bpm),
        beats_per_bar=read_meter(meter),
        first_beat_s=first_beat_s,
        count_in=count_in,
    )


def read_changes(text_or_file: str | None) -> "Changes | None":
    """Changes from a file of that name, or from the text itself.

    Raises Complaint, the symbol underlined, where a chord cannot be read.
    """
    if text_or_file is None:
        return None
    from stackline.theory.given.changes import parse_changes

    path = Path(text_or_file)
    if _names_a_file(text_or_file):
        try:
            return parse_changes(path.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError) as error:
            raise Complaint(
                f"--changes {path}: cannot be read as a text file ({error}); "
                'name a text file, or type the chords: --changes "Dm9 | G13(b9) | C6/9"'
            ) from error
    return parse_changes(text_or_file)


def _names_a_file(text: str) -> bool:
    """A file that exists, or what can only be meant as one (``tune.txt``)."""
    if "|" in text or "\n" in text:
        return False
    path = Path(text)
    try:
        return path.exists() or path.suffix.lower() in {".txt", ".chords", ".changes"}
    except OSError:
        return False
