"""Passages out of time in a take with a pulse: on paper, in notation files and on the page."""

import re
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from html import unescape
from itertools import groupby, pairwise
from xml.etree import ElementTree as Et

import pytest
from hypothesis import HealthCheck, given, settings

from bench.harmony.musicxml_readers import errors, read_by_music21, written
from stackline.listen.attacks.grid import with_positions
from stackline.report.contents.chart import bars
from stackline.report.notation import mei_file, musicxml_file
from stackline.report.notation.engraving import engrave
from stackline.report.page import page
from stackline.report.printed import sheet_file
from stackline.report.score.score_layout import lay_out
from stackline.report.score.score_model import Bar
from stackline.report.words.places import Places
from stackline.report.words.take_view import TakeView
from stackline.shared.notes import BeatGrid, Passage
from stackline.shared.take import Take
from stackline.shared.units import clock
from tests.support.readers.drawn_score import classes, text_of
from tests.support.readers.printed import printed_text, read
from tests.support.readers.score_laws import check_laws, starts
from tests.support.takes.mixed_takes import MIXED, mixed_take, mixed_takes
from tests.support.takes.sample_take import sample_take, time_of

# What is printed over the first bar or slot of each part (words: common practice in lead sheets).
WORDS = {
    "introduction": ["out of time", "in time"],
    "middle": ["out of time", "a tempo"],
    "ending": ["out of time"],
    "broken bar": ["out of time", "a tempo"],
    "everywhere": ["out of time", "in time", "out of time", "a tempo", "out of time"],
}


def placed(take: Take, grid: BeatGrid) -> Take:
    """A take under another grid, its attacks put where that says."""
    attacks = with_positions(take.attacks, grid)
    moved = dict(zip(take.attacks, attacks, strict=True))
    voicings = tuple(replace(one, attack=moved[one.attack]) for one in take.voicings)
    return replace(take, grid=grid, attacks=attacks, voicings=voicings)


def left_sample() -> Take:
    """The sample with its third bar out of time: the chord there holds a note from in time."""
    take = sample_take()
    kept = tuple(beat for beat in take.grid.beats
                 if not time_of(3, 1) - 0.1 < beat.time_s < time_of(5, 1) - 0.1)  # fmt: skip
    passage = Passage(start_s=time_of(3, 1) - 0.02, end_s=time_of(3, 1) + 0.03)
    return placed(take, replace(take.grid, beats=kept, out_of_time=(passage,)))


def bar_and_beat(bar: Bar, start: Fraction) -> tuple[int, Fraction]:
    """Number and beat of a place in a bar, a pickup counted from its missing beats."""
    missing = bar.beats - bar.length if bar.pickup else 0
    return bar.number, start + missing + 1


@pytest.mark.parametrize("name", MIXED)
def test_every_attack_stands_in_its_bar_or_its_slot(name: str) -> None:
    """Printed bar numbers are those of the positions; an attack without one is a slot of one."""
    take = MIXED[name]()
    found = []
    for bar in lay_out(take).bars:
        strikes = sorted({item.start for line in bar.lines for item in line.items
                          if any(not head.tied_in for head in item.heads)})  # fmt: skip
        found += [bar.place if bar.is_slot else bar_and_beat(bar, start) for start in strikes]
    assert found == [
        clock(one.onset_s) if one.position is None else (one.position.bar, one.position.beat)
        for one in take.attacks
    ]


@pytest.mark.parametrize("name", MIXED)
def test_words_say_where_time_is_left_and_taken_up(name: str) -> None:
    """A passage opens with its word, the bars after it with another."""
    score = lay_out(MIXED[name]())
    assert [bar.word for bar in score.bars if bar.word] == WORDS[name]
    opens = [next(run) for _, run in groupby(score.bars, key=lambda bar: bar.is_slot)]
    assert [bar.word for bar in opens if bar.word] == WORDS[name]


@pytest.mark.parametrize("name", MIXED)
def test_laws_of_the_score_hold_with_passages(name: str) -> None:
    """Every note once, bars full, signs that read back, ties that arrive."""
    check_laws(MIXED[name]())


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(mixed_takes())
def test_laws_of_the_score_hold_for_any_passages(take: Take) -> None:
    """The same for stretches and passages of any length, broken bars and pickups among them."""
    check_laws(take)


def test_bars_are_as_long_as_the_beats_that_were_played() -> None:
    """Ten beats, a passage, fourteen: the bars that it breaks have two beats each."""
    score = lay_out(mixed_take(("time", 10), ("free", 2), ("time", 14)))
    lengths = [(bar.number, bar.length) for bar in score.bars if not bar.is_slot]
    assert lengths == [(1, 4), (2, 4), (3, 2), (5, 2), (6, 4), (7, 4), (8, 4)]
    assert [bar.number for bar in score.bars if bar.pickup] == [5]


def test_a_note_held_into_a_passage_is_tied_over_the_border() -> None:
    """The C that Dbmaj13 holds stands in a slot there, tied from the bar before."""
    score = lay_out(left_sample())
    slots = [bar for bar in score.bars if bar.is_slot]
    assert len(slots) == 1
    heads = [head for line in slots[0].lines for item in line.items for head in item.heads]
    assert [(head.midi, head.tied_in) for head in heads if head.midi == 60] == [(60, True)]
    assert Counter(midi for _, midi in starts(score))[60] == 2
    check_laws(left_sample())


def test_what_rings_into_a_passage_ends_where_that_begins() -> None:
    """Without a voicing that holds it, a note in time has no piece among the slots."""
    take = mixed_take(("time", 10), ("free", 2))
    slots = [bar for bar in lay_out(take).bars if bar.is_slot]
    assert take.attacks[5].offset_s > take.grid.out_of_time[0].start_s
    assert not any(head.tied_in for bar in slots for line in bar.lines for item in line.items
                   for head in item.heads)  # fmt: skip


def test_signatures_go_on_through_a_passage() -> None:
    """A ii-V-I in Db that ends out of time keeps its five flats (common practice)."""
    fifths = [bar.fifths for bar in lay_out(left_sample()).bars]
    assert fifths[:3] == [-5, -5, -5]


def test_swing_is_written_straight_on_both_sides() -> None:
    """Off-beats on the last third become eighths before the passage and after it."""
    take = mixed_take(("time", 8), ("free", 2), ("time", 8), off=2 / 3)
    score = lay_out(take)
    assert score.swung
    inner = {item.start for bar in score.bars if not bar.is_slot for line in bar.lines
             for item in line.items if item.heads and not item.heads[0].tied_in}  # fmt: skip
    assert inner - {0} == {Fraction(3, 2)}
    assert Places(take).short(take.attacks[1]) == "1.2&"


@pytest.mark.parametrize("what", ["one beat", "all over"])
def test_a_take_out_of_time_throughout_is_written_without_bars(what: str) -> None:
    """Passages that leave no stretch of beats leave slots, as without a grid; no words."""
    take = mixed_take(("free", 4))
    beats = sample_take().grid.beats[:1] if what == "one beat" else ()
    score = lay_out(replace(take, grid=replace(take.grid, beats=beats)))
    assert not score.barred
    assert [bar.number for bar in score.bars] == [1, 2, 3, 4]
    assert not any(bar.word for bar in score.bars)


def test_a_record_that_contradicts_its_passages_is_written_without_bars() -> None:
    """Attacks without a position among beats, and no passage there, are slots."""
    take = sample_take()
    plain = replace(take.attacks[2], position=None)
    score = lay_out(replace(take, attacks=(*take.attacks[:2], plain, *take.attacks[3:])))
    assert not score.barred
    assert len(score.bars) == len(take.attacks)


def test_a_passage_without_attacks_is_an_empty_slot() -> None:
    """A silence out of time between two stretches keeps its place, and the count around it."""
    take = left_sample()
    third = take.attacks[3]
    take = replace(
        take,
        attacks=tuple(one for one in take.attacks if one is not third),
        voicings=tuple(one for one in take.voicings if one.attack is not third),
        motions=(),
    )
    score = lay_out(take)
    assert [(bar.number, bar.word) for bar in score.bars[:4]] == [
        (1, ""), (2, ""), (1, "out of time"), (4, "a tempo"),
    ]  # fmt: skip
    assert not any(item.heads for line in score.bars[2].lines for item in line.items)


@pytest.mark.parametrize("name", MIXED)
def test_musicxml_with_passages_is_valid_and_reads_back(name: str) -> None:
    """The W3C schema accepts it, and music21 reads the same notes at the same places."""
    take = MIXED[name]()
    document = musicxml_file.render(TakeView(take))
    assert errors(document) == []
    assert read_by_music21(document) == written(take)
    assert Counter(midi for _, midi in written(take)) == Counter(n.midi for n in take.notes)


@settings(deadline=None, max_examples=12, suppress_health_check=[HealthCheck.too_slow])
@given(mixed_takes())
def test_music21_reads_any_passages(take: Take) -> None:
    """Random stretches and passages: valid, and the same notes come back."""
    document = musicxml_file.render(TakeView(take))
    assert errors(document) == []
    assert read_by_music21(document) == written(take)


def test_slots_in_musicxml_are_not_counted() -> None:
    """Slots are implicit measures with numbers of their own, between bars 4 and 6."""
    root = Et.fromstring(musicxml_file.render(TakeView(MIXED["middle"]())))
    measures = root.findall("part/measure")
    assert [one.get("number") for one in measures] == [
        "1", "2", "3", "4", "X1", "X2", "X3", "X4", "6", "7", "8", "9",
    ]  # fmt: skip
    assert [one.get("implicit") for one in measures] == [None] * 4 + ["yes"] * 4 + [None] * 4
    printed = [time.get("print-object", "yes") for one in measures for time in one.iter("time")]
    assert printed == ["yes", "no", "no"]
    shown = [word.text for word in root.iter("words")]
    assert [word for word in shown if word in ("out of time", "a tempo")] == WORDS["middle"]
    slots = measures[4:8]
    assert all(stem.text == "none" for one in slots for stem in one.iter("stem"))
    styles = [[style.text for style in one.iter("bar-style")] for one in measures[3:8]]
    assert styles == [["light-light"], ["none"], ["none"], ["none"], ["light-light"]]


@pytest.mark.parametrize("name", MIXED)
def test_passages_are_engraved(name: str) -> None:
    """Every head is drawn, words and clock times are printed, and no bar is numbered twice."""
    take = MIXED[name]()
    score, pages = lay_out(take), engrave(take)
    found = sum((classes(one) for one in pages), Counter[str]())
    heads = [head for bar in score.bars for line in bar.lines for item in line.items
             for head in item.heads]  # fmt: skip
    assert found["notehead"] == len(heads)
    assert all(found[f"voicing-{i}"] for i in range(len(take.voicings)))
    texts = [text for one in pages for text in text_of(one, "dir")]
    assert [text for text in texts if text in ("out of time", "in time", "a tempo")] == WORDS[name]
    assert [text for text in texts if ":" in text] == [bar.place for bar in score.bars if bar.place]
    measures = re.findall("<measure[^>]*>", mei_file.render(score))
    numbers = re.findall(r' n="(-?\d+)"', "".join(measures))
    assert len(numbers) == len(set(numbers))


@pytest.mark.parametrize("name", MIXED)
def test_the_chart_shows_passages_by_the_clock(name: str) -> None:
    """Pictures join up, a passage's have no beats and no bar number, each voicing is once."""
    take = MIXED[name]()
    drawn = bars(TakeView(take))
    assert all(a.end_s == pytest.approx(b.start_s) for a, b in pairwise(drawn))
    assert sorted(label.index for bar in drawn for label in bar.degrees) == list(
        range(len(take.voicings))
    )
    assert sum(box.begins for bar in drawn for box in bar.boxes) == len(take.notes)
    for bar in drawn:
        assert bar.out_of_time == (not bar.beats)
        assert bar.title == (clock(bar.start_s) if bar.out_of_time else bar.title)
        for label in bar.degrees:
            position = take.voicings[label.index].attack.position
            assert bar.out_of_time if position is None else bar.title == str(position.bar)
    counted = [int(bar.title) for bar in drawn if not bar.out_of_time]
    assert counted == [one for one in sorted(set(take.grid.bars())) if one >= counted[0]]
    assert all(bar.end_s - bar.start_s < 6.1 for bar in drawn if bar.out_of_time)


def test_a_bar_that_a_passage_breaks_off_ends_where_that_begins() -> None:
    """Its picture goes no further than the passage, though the beat would go on."""
    take = left_sample()
    passage = replace(take.grid.out_of_time[0], start_s=time_of(3, 1) - 0.3)
    drawn = bars(TakeView(replace(take, grid=replace(take.grid, out_of_time=(passage,)))))
    assert [bar.title for bar in drawn[:2]] == ["1", "2"]
    assert drawn[1].end_s == drawn[2].start_s == passage.start_s
    assert drawn[2].out_of_time


@settings(deadline=None, max_examples=40)
@given(mixed_takes())
def test_the_chart_holds_any_passages(take: Take) -> None:
    """Every voicing is once, in a picture of its kind, and every beat line is a beat."""
    drawn = bars(TakeView(take))
    inside = [beat for beat in take.grid.beats if beat.time_s >= drawn[0].start_s]
    assert sum(len(bar.beats) for bar in drawn) == len(inside)
    placed_in = {label.index: bar for bar in drawn for label in bar.degrees}
    assert len(placed_in) == len(take.voicings) == sum(len(bar.degrees) for bar in drawn)
    for index, bar in placed_in.items():
        assert bar.out_of_time == (take.voicings[index].attack.position is None)


def test_the_page_marks_a_passage_and_counts_no_bar_in_it() -> None:
    """The band has its words and the clock beside them; places there are clock times."""
    take = MIXED["middle"]()
    text = page.render(TakeView(take))
    pictures = re.findall(r'<svg class="bar".*?</svg>', text, re.DOTALL)
    free = [one for one in pictures if 'class="free"' in one]
    assert len(free) == sum(bar.out_of_time for bar in bars(TakeView(take))) > 0
    for one in free:
        assert "out of time</tspan>" in one
        assert re.search(r'class="number"[^>]*>\d+:\d\d\.\d<tspan', one)
        assert re.search(r'aria-label="From \d+:\d\d\.\d, out of time: ', one)
        assert 'class="beat"' not in one
    assert "Tinted stretches between dotted lines are out of time" in text
    names = re.findall(r'aria-label="Play ([^",]+), ', unescape(text))
    assert names == [Places(take).short(one.attack) for one in take.voicings]
    assert names[8] == clock(take.attacks[8].onset_s)


def test_the_page_says_nothing_of_passages_where_there_are_none() -> None:
    """No band and no hint in a take that is in time throughout."""
    text = page.render(TakeView(sample_take()))
    assert "out of time</tspan>" not in text
    assert "Tinted stretches" not in text


def test_the_study_sheet_names_places_in_a_passage_by_the_clock() -> None:
    """The PDF of a take with a passage has its clock times beside bars and beats."""
    take = MIXED["middle"]()
    text = printed_text(read(sheet_file.render(TakeView(take))))
    places = [Places(take).short(one.attack) for one in take.voicings]
    assert places[6:10] == ["4.1", "4.2&", clock(take.attacks[8].onset_s), "0:14.2"]
    assert all(place in text for place in places)
