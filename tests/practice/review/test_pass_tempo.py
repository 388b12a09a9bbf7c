"""The tempo of a pass is that of the beats that are known under it, else its chords' own."""

from dataclasses import replace
from typing import Any

import pytest

from fixtures.played.practised import make_practised
from fixtures.played.sessions import heard
from fixtures.played.symbol_takes import Rhythm, make_ways
from stackline import read_notes
from stackline.practice.review.reviewing import review
from stackline.practice.targets.target_text import parse_target
from stackline.shared.notes import Beat, BeatGrid, Note, Passage
from stackline.shared.take import Take
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, notes_of, played

TARGET = parse_target(TARGET_TEXT)


def _grid(bpm: float, until_s: float, **more: Any) -> BeatGrid:
    beat_s = 60.0 / bpm
    beats = tuple(Beat(time_s=0.5 + i * beat_s, number=i % 4 + 1)
                  for i in range(int(until_s / beat_s)))  # fmt: skip
    made = BeatGrid(beats=beats, tempo_bpm=bpm, source="hint", confidence=0.9)
    return replace(made, **more)


def _take(every_beats: float, bpm: float, grid: BeatGrid | None = None) -> Take:
    every_s = every_beats * 60.0 / bpm
    rows = played(*TWO_FIVE, every_s=every_s)
    notes = notes_of(rows, length_s=0.9 * every_s)
    return read_notes(notes, beats=_grid(bpm, 4 * every_s + 2) if grid is None else grid)


@pytest.mark.parametrize("bpm", [54.0, 76.0, 120.0, 184.0])
@pytest.mark.parametrize("every_beats", [1.0, 2.0, 4.0, 8.0])
def test_chords_half_or_twice_as_long_as_written(bpm: float, every_beats: float) -> None:
    """Within 3 in 100, where the target's lengths alone would say half or double."""
    found = review(_take(every_beats, bpm), TARGET).passes
    assert [one.tempo_bpm for one in found] == [pytest.approx(bpm, rel=0.03)]


def test_found_beats_keep_their_rate_and_the_target_says_which() -> None:
    """Beats found at 60 under chords of four beats every two seconds: 120, and not 117."""
    grid = replace(_grid(60.0, 9.0), source="heard")
    rows = played(*TWO_FIVE, every_s=2.05)
    take = read_notes(notes_of(rows, length_s=1.8), beats=grid)
    assert [one.tempo_bpm for one in review(take, TARGET).passes] == [pytest.approx(120, abs=0.1)]


def test_a_take_that_changes_tempo() -> None:
    """Two passes, 80 and 132: each has its own."""
    beats, notes, at = [], [], 0.5
    for bpm in (80.0, 132.0):
        beat_s = 60.0 / bpm
        for i, chord in enumerate(TWO_FIVE):
            notes += [Note(onset_s=at + 2 * i * beat_s, offset_s=at + (2 * i + 1.8) * beat_s,
                           midi=midi, velocity=70, confidence=0.98) for midi in chord]  # fmt: skip
        beats += [Beat(time_s=at + i * beat_s, number=i % 4 + 1) for i in range(8)]
        at += 8 * beat_s
    grid = BeatGrid(beats=tuple(beats), tempo_bpm=100.0, source="hint", confidence=0.9)
    found = review(read_notes(notes, beats=grid), TARGET).passes
    assert [one.tempo_bpm for one in found] == [
        pytest.approx(80, rel=0.03), pytest.approx(132, rel=0.03)
    ]  # fmt: skip


@pytest.mark.parametrize(
    "grid",
    [
        BeatGrid(),
        _grid(240.0, 9.0, confidence=0.2),
        _grid(240.0, 9.0, out_of_time=(Passage(start_s=0.0, end_s=9.0),)),
    ],
    ids=["no beats", "unsure beats", "out of time"],
)
def test_without_sure_beats_the_targets_lengths_count(grid: BeatGrid) -> None:
    """A chord of four beats every two seconds: 120."""
    found = review(_take(4.0, 120.0, grid), TARGET).passes
    assert [one.tempo_bpm for one in found] == [pytest.approx(120, rel=0.03)]


def test_made_practice_by_its_own_beats() -> None:
    """Every pass of made takes, faults and waits among them, has the tempo of the click."""
    off = []
    for seed in range(905, 911):
        made = make_practised(seed)
        notes = [
            Note(onset_s=n.onset_s, offset_s=n.offset_s, midi=n.midi, velocity=n.velocity,
                 confidence=1.0)
            for n in made.take.notes
        ]  # fmt: skip
        beats = tuple(Beat(time_s=at, number=i % 4 + 1) for i, at in enumerate(made.take.beats_s))
        grid = BeatGrid(beats=beats, tempo_bpm=made.take.tempo_bpm, source="hint", confidence=0.9)
        found = review(read_notes(notes, beats=grid), made.target).passes
        off += [abs(one.tempo_bpm / made.take.tempo_bpm - 1) for one in found if one.tempo_bpm]
    assert len(off) >= 20
    assert max(off) < 0.03


@pytest.mark.parametrize("rhythm", ["held", "comped"])
def test_made_practice_without_any_beats(rhythm: Rhythm) -> None:
    """Chords held and comped, early, late and struck again: nineteen passes of twenty are
    within 3 in 100. One that goes twice as fast as the others may be that, or half as long.
    """
    off = []
    for seed in range(906, 911):
        made = make_ways(seed, "train", keys=5, rhythm=rhythm)
        found = review(read_notes(heard(made.take), beats=BeatGrid()), made.target).passes
        off += [abs(one.tempo_bpm / made.take.tempo_bpm - 1) for one in found if one.tempo_bpm]
    assert len(off) >= 15
    assert sum(one < 0.03 for one in off) >= 0.95 * len(off)


def test_no_pass_has_a_tempo_that_nobody_counts() -> None:
    """Chords of eight beats, each struck for a second: 480 is told as 240."""
    target = parse_target("Dm9 | % | G13 | % | Cmaj9 | %")
    notes = notes_of(played(*TWO_FIVE, every_s=1.0), length_s=0.9)
    (one,) = review(read_notes(notes, beats=BeatGrid()), target).passes
    assert one.tempo_bpm == pytest.approx(240, rel=0.03)
