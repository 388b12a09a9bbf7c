"""What a player may specify about a take beforehand: its time, its changes. Read and checked."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.listen.time.time_hints import MOST_COUNTED, TimeHints
from stackline.shared.complaint import Complaint
from stackline.shared.files import read_text
from stackline.shared.units import FASTEST_BPM, SLOWEST_BPM, is_tempo

if TYPE_CHECKING:
    from stackline.theory.sheet.changes import Changes

METERS = range(2, 8)
DOTTED = {"6/8": 2, "9/8": 3, "12/8": 4}  # beats of a dotted quarter
LARGEST_TEXT = 2**20  # bytes: a song book of changes is smaller
SCORES = (".musicxml", ".mxl", ".xml")


def read_tempo(tempo_bpm: float | None) -> float | None:
    """A tempo in beats a minute, or None; raises Complaint outside 30..400."""
    if tempo_bpm is not None and not is_tempo(tempo_bpm):
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
    if below != "4" or above not in map(str, METERS):
        raise Complaint(f"--meter {meter!r}: allowed are 2/4 to 7/4; for example --meter 3/4")
    return int(above)


def read_drill_meter(meter: str | None) -> tuple[int, int]:
    """Beats in a bar, and into how many eighths each falls: ``3/4`` (3, 2), ``6/8`` (2, 3).

    4/4 if left out; raises Complaint for what is neither 2/4 to 7/4 nor 6/8, 9/8 or 12/8.
    """
    if meter in DOTTED:
        return DOTTED[meter], 3
    try:
        return read_meter(meter) or 4, 2
    except Complaint:
        raise Complaint(
            f"--meter {meter!r}: allowed are 2/4 to 7/4, 6/8, 9/8 and 12/8; for example --meter 6/8"
        ) from None


def beats_are_dotted(meter: str | None) -> bool:
    """Whether a meter counts dotted quarters."""
    return meter in DOTTED


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

    What was read otherwise than one might think is said on the error stream. Raises Complaint,
    the place underlined, where something cannot be read.
    """
    if text_or_file is None:
        return None
    from stackline.theory.sheet.changes_text import parse_changes

    is_file = _names_a_file(text_or_file)
    if is_file and Path(text_or_file).suffix.lower() in SCORES:
        return _of_score(Path(text_or_file))
    changes = parse_changes(read_chords(Path(text_or_file)) if is_file else text_or_file)
    for remark in changes.remarks:
        click.echo(f"changes: {remark}", err=True)
    return changes


def _of_score(path: Path) -> "Changes":
    """The chords over a score's bars."""
    from stackline.theory.sheet.score_changes import LARGEST, changes_of_score

    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        raise Complaint(
            f"--changes {path}: cannot be read ({error.strerror}); name a MusicXML or text file"
        ) from error
    if len(data) > LARGEST:
        raise Complaint(f"--changes {path}: is larger than {LARGEST // 2**20} MB")
    try:
        return changes_of_score(data)
    except Complaint as complaint:
        raise Complaint(f"--changes {path}: {complaint}") from complaint


def read_chords(path: Path) -> str:
    """The text of a file of chords; Complaint where there is none."""
    from stackline.theory.sheet.printed_changes import changes_below

    try:
        return changes_below(read_text(path, "a text file", most_bytes=LARGEST_TEXT))
    except Complaint as complaint:
        raise Complaint(
            f"--changes {complaint}; name a text file, or type the chords: "
            '--changes "Dm9 | G13(b9) | C6/9"'
        ) from complaint


def _names_a_file(text: str) -> bool:
    """A file that exists, or what can only be meant as one (``tune.txt``)."""
    if "|" in text or "\n" in text:
        return False
    path = Path(text)
    try:
        return path.exists() or path.suffix.lower() in {".txt", ".chords", ".changes", *SCORES}
    except OSError:
        return False
