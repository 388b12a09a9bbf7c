"""Laws of the renderers: any take that the records allow is written without a fault."""

import csv
import io
from dataclasses import replace
from itertools import pairwise

import mido
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stackline.listen.attacks.grid import with_positions
from stackline.report.contents.changes_grid import changes_grid
from stackline.report.contents.chart import bars
from stackline.report.contents.keyboard_picture import lines, markers, stretch_of
from stackline.report.contents.vocabulary import vocabulary
from stackline.report.files import csv_file, lab_file, midi_file, table
from stackline.report.words.summary import summary
from stackline.report.words.take_view import TakeView
from stackline.shared.notes import Beat, Passage
from stackline.shared.rhythm import NO_RHYTHM
from stackline.shared.take import Take
from tests.support.takes.sample_take import CMAJ9, DM9, EBM9, G7ALT
from tests.support.takes.take_strategies import takes

PLACES = st.integers(1, 2000).map(lambda n: n / 7)


@st.composite
def sensible_takes(draw: st.DrawFn) -> Take:
    """Any take, brought into the order that the records promise: notes, attacks and beats by
    time, no beat in a passage out of time and no position there, voicings on attacks in order,
    motions between neighbours.
    """
    take = draw(takes())
    beats = tuple(
        Beat(time_s=time_s, number=draw(st.integers(1, 4)))
        for time_s in sorted(draw(st.sets(PLACES, max_size=8)))
    )
    grid = replace(take.grid, beats=beats, out_of_time=draw(_between(beats)))
    moved = {one: one if grid.is_in_time(one.onset_s) else replace(one, position=None)
             for one in take.attacks}  # fmt: skip
    if draw(st.booleans()):
        moved = dict(zip(take.attacks, with_positions(take.attacks, grid), strict=True))
    attacks = tuple(sorted(moved.values(), key=lambda attack: attack.onset_s))
    voicings = [replace(one, attack=moved[one.attack]) for one in take.voicings]
    pairs = zip(take.motions, range(1, len(take.voicings)), strict=False)
    return replace(
        take,
        grid=grid,
        notes=tuple(sorted(take.notes, key=lambda note: (note.onset_s, note.midi))),
        attacks=attacks,
        voicings=tuple(sorted(voicings, key=lambda voicing: voicing.attack.onset_s)),
        motions=tuple(replace(motion, from_index=i - 1, to_index=i) for motion, i in pairs),
    )


@st.composite
def _between(draw: st.DrawFn, beats: tuple[Beat, ...]) -> tuple[Passage, ...]:
    """Passages between some of the beats, before them and behind."""
    if not beats:
        return ()
    edges = [0.0, *(beat.time_s for beat in beats), beats[-1].time_s + 60.0]
    chosen = sorted(draw(st.sets(st.integers(0, len(edges) - 2), max_size=3)))
    return tuple(
        Passage(
            start_s=edges[i] + (edges[i + 1] - edges[i]) / 8,
            end_s=edges[i + 1] - (edges[i + 1] - edges[i]) / 8,
        )
        for i in chosen
    )


any_take = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


@any_take
@given(sensible_takes())
def test_any_take_has_a_grid(take: Take) -> None:
    """Every chord once, in order, inside its bar, as wide as the time to the next; lanes hold."""
    known = (DM9, G7ALT, CMAJ9, EBM9)
    voicings = tuple(
        replace(one, chord=replace(one.chord, symbol=known[i % 4]))
        for i, one in enumerate(take.voicings)
    )
    grid = changes_grid(replace(take, voicings=voicings, rhythm=NO_RHYTHM))
    for bar in grid.bars:
        edges = [one.x for one in bar.chords] + [1.0]
        assert edges == sorted(edges)
        assert all(0 <= x <= 1 for x in edges)
        assert [one.x + one.width for one in bar.chords] == pytest.approx(edges[1:])
    firsts = [one.index for bar in grid.bars for one in bar.chords]
    assert firsts == sorted(set(firsts))
    assert firsts[:1] == [0] * bool(take.voicings)
    for lane in {one.lane for one in grid.brackets}:
        row = [one for one in grid.brackets if one.lane == lane]
        assert all(a.last < b.first for a, b in pairwise(row))


@any_take
@given(sensible_takes())
def test_the_table_prints_any_take(take: Take) -> None:
    """Every line is printable and fits."""
    text = table.render(TakeView(take), width=100, beats=True)
    assert [line for line in text.split("\n") if not line.isprintable()] == []
    assert all(len(line) <= 100 for line in text.split("\n")[2:] if line.isascii())


@any_take
@given(sensible_takes())
def test_csv_has_a_row_a_voicing(take: Take) -> None:
    """Whatever stands in the names, rows and columns stay rows and columns."""
    rows = list(csv.reader(io.StringIO(csv_file.render(TakeView(take)), newline="")))
    assert len(rows) == 1 + len(take.voicings)
    assert {len(row) for row in rows} == {len(csv_file.COLUMNS)}


@any_take
@given(sensible_takes())
def test_lab_lines_join_up(take: Take) -> None:
    """Three columns, each line from where the last one ended, none backwards."""
    now = 0.0
    for line in lab_file.render(TakeView(take)).splitlines():
        start, end, label = line.split("\t")
        assert float(start) == now < float(end)
        assert label
        now = float(end)
    assert now == round(take.source.duration_s, 3) or not take.source.duration_s


@any_take
@given(sensible_takes())
def test_midi_opens_and_every_note_ends(take: Take) -> None:
    """Read by mido, the file opens and no note is left on."""
    file = mido.MidiFile(file=io.BytesIO(midi_file.render(TakeView(take))), charset="utf-8")
    for track in file.tracks:
        on: set[int] = set()
        for message in track:
            if message.type == "note_on":
                assert message.note not in on
                on.add(message.note)
            elif message.type == "note_off":
                on.remove(message.note)
        assert not on


@any_take
@given(sensible_takes())
def test_pictures_can_be_drawn(take: Take) -> None:
    """Marks stand on the keyboard, notes in their bars, sentences have words."""
    stretch = stretch_of(midi for voicing in take.voicings for midi in voicing.pitches)
    for voicing in take.voicings:
        assert all(0 < mark.x < stretch.width for mark in markers(voicing, stretch))
    for bar in bars(TakeView(take)):
        assert bar.end_s > bar.start_s
        assert all(box.width > 0 for box in bar.boxes)
    assert all(piece.text for sentence in summary(TakeView(take)) for piece in sentence)
    assert sum(shape.count for shape in vocabulary(take)) <= len(take.voicings)
    for motion in take.motions:
        lines(motion, stretch)
