"""A MIDI file of an evening, cut into its sections: notes and beats by each section's own clock."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import PurePath

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.recording.midi_keys import Keys
from stackline.listen.sections.section_edges import find_sections
from stackline.listen.sections.section_hearing import section_digest
from stackline.shared.notes import Beat, BeatGrid, CutFrom, Note, Passage


def keys_sections(keys: Keys) -> tuple[Keys, ...]:
    """The sections of what a MIDI file holds; itself where it is one."""
    places = find_sections(find_attacks(keys.notes), (), keys.source.duration_s)
    if len(places) < 2:
        return (keys,)
    return tuple(_cut(keys, place, number) for number, place in enumerate(places, start=1))


def _cut(keys: Keys, place: Passage, number: int) -> Keys:
    path, source = PurePath(keys.source.name), keys.source
    return Keys(
        source=replace(
            source,
            name=f"{path.stem}-{number}{path.suffix}",
            duration_s=round(place.end_s - place.start_s, 4),
            sha256=section_digest(source.sha256, place),
            cut_from=CutFrom(
                name=source.name, sha256=source.sha256, number=number,
                start_s=place.start_s, end_s=place.end_s,
            ),
        ),
        notes=_notes(keys.notes, place),
        grid=None if keys.grid is None else _grid(keys.grid, place),
    )  # fmt: skip


def _notes(notes: Sequence[Note], place: Passage) -> tuple[Note, ...]:
    return tuple(
        replace(
            note,
            onset_s=round(note.onset_s - place.start_s, 4),
            offset_s=round(min(note.offset_s, place.end_s) - place.start_s, 4),
        )
        for note in notes
        if place.start_s <= note.onset_s < place.end_s
    )


def _grid(grid: BeatGrid, place: Passage) -> BeatGrid | None:
    """The beats inside a section, at their own tempo; None where there are too few."""
    beats = tuple(
        Beat(time_s=round(one.time_s - place.start_s, 4), number=one.number)
        for one in grid.beats
        if place.start_s <= one.time_s < place.end_s
    )
    if len(beats) < 2:
        return None
    tempo = 60.0 * (len(beats) - 1) / (beats[-1].time_s - beats[0].time_s)
    return replace(grid, beats=beats, tempo_bpm=round(tempo, 1), out_of_time=())
