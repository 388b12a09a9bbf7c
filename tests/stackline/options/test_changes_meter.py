"""A meter written in the changes is a hint about the time of a take."""

import pytest

import stackline
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Note

WALTZ = ((53, 57, 60, 64), (53, 57, 59, 64), (52, 55, 59, 62), (52, 55, 59, 62))


def waltz() -> list[Note]:
    """One chord a bar and its afterbeats, in three."""
    return [
        Note(onset_s=(3 * bar + beat) * 0.5, offset_s=(3 * bar + beat) * 0.5 + 0.4, midi=pitch,
             velocity=80 if not beat else 60, confidence=0.98)
        for bar in range(8)
        for beat in (0, 1, 2)
        for pitch in WALTZ[bar % 4]
    ]  # fmt: skip


def test_the_meter_of_the_changes_counts_the_bars() -> None:
    """3/4 before the chords gives three beats a bar, and each chord its own bar."""
    take = stackline.read_notes(waltz(), changes="3/4 | Dm7 | G7 | Cmaj7 | % |")
    assert take.grid.beats_per_bar == 3
    firsts = take.voicings[:12:3]
    assert [one.chord.symbol.text for one in firsts] == ["Dm7", "G7", "Cmaj7", "Cmaj7"]


def test_a_hint_goes_before_the_changes() -> None:
    """What the player says of the bar is believed."""
    hints = stackline.TimeHints(beats_per_bar=4)
    take = stackline.read_notes(waltz(), changes="3/4 | Dm7 | G7 |", hints=hints)
    assert take.grid.beats_per_bar == 4


def test_faulty_changes_are_refused_before_anything_is_heard() -> None:
    """The recording is not even looked for."""
    with pytest.raises(Complaint, match="G31"):
        stackline.transcribe("nowhere.wav", changes="| Dm7 | G31 |")
