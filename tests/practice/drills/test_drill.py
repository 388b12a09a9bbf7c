"""Drills: a target through the keys, placed where it sounds, written as text, MIDI and take."""

import io
import json
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import mido
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from stackline.cli import commands
from stackline.options.hints import read_drill_meter
from stackline.practice.drills.drill import Drill, make_drill
from stackline.practice.drills.drill_midi import TICKS, render
from stackline.practice.drills.drill_take import as_take
from stackline.practice.drills.drill_text import render as render_text
from stackline.practice.drills.key_orders import ORDERS, key_order
from stackline.practice.drills.voicing_choice import voiced
from stackline.practice.review.reviewing import review
from stackline.practice.targets.numerals import read_key
from stackline.practice.targets.placing import Register, best_places, place_keys
from stackline.practice.targets.target_file import built_in
from stackline.practice.targets.target_text import parse_target
from stackline.practice.targets.targets import Target, movement
from stackline.shared.codec.codec_read import from_json
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.stacks.low_limits import LIMITS
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, take_of

TARGET = parse_target(TARGET_TEXT, name="study")
WITH_STACKS = [one for one in built_in() if one.has_stacks]


@pytest.mark.parametrize("name", ORDERS)
@given(first=st.integers(0, 11), seed=st.integers(0, 99))
def test_every_order_visits_all_keys_from_the_first(name: str, first: int, seed: int) -> None:
    """Twelve keys, each at least once, beginning where it was asked to."""
    keys = key_order(name, first=first, seed=seed)
    assert keys[0] == first
    assert set(keys) == set(range(12))
    assert len(keys) == (24 if name == "pairs" else 12)


def test_orders_are_what_their_names_say() -> None:
    """The circle of fourths C F Bb Eb; half and whole steps; the same seed, the same order."""
    assert key_order("fourths")[:4] == (0, 5, 10, 3)
    assert key_order("half-up")[:3] == (0, 1, 2)
    assert key_order("whole-down")[:7] == (0, 10, 8, 6, 4, 2, 11)
    assert key_order("pairs")[:5] == (0, 5, 0, 5, 10)
    assert key_order("random", seed=3) == key_order("random", seed=3)
    assert key_order("random", seed=3) != key_order("random", seed=4)
    with pytest.raises(Complaint, match="no order is called 'thirds'"):
        key_order("thirds")


@pytest.mark.parametrize("target", WITH_STACKS, ids=lambda one: one.name)
def test_every_key_is_the_target_transposed(target: Target) -> None:
    """Placed pitches are the target's own places, moved by whole keys and octaves."""
    for placed in place_keys(target, key_order("fourths")):
        shifts = {
            p - q
            for row, place in zip(placed.pitches, target.places, strict=True)
            for p, q in zip(row, place, strict=True)
        }
        assert len(shifts) == 1
        assert (shifts.pop() - placed.key) % 12 == 0
        assert all(21 <= p <= 108 for row in placed.pitches for p in row)


def test_left_hand_voicings_lie_around_middle_c() -> None:
    """Rootless ii-V-I voicings lie between the low C3 and C5 (common practice)."""
    for placed in place_keys(TARGET, range(12)):
        lowest = min(p for row in placed.pitches for p in row)
        highest = max(p for row in placed.pitches for p in row)
        assert lowest >= 48
        assert highest <= 74


@pytest.mark.parametrize("target", WITH_STACKS, ids=lambda one: one.name)
def test_low_limits_are_kept_or_told(target: Target) -> None:
    """An interval below the published limit is never placed without a word."""
    for placed in place_keys(target, range(12)):
        for row in placed.pitches:
            for low, high in pairwise(row):
                if low < LIMITS.get(high - low, 0):
                    assert any("lies low" in words for words in placed.cautions)


def test_the_way_from_key_to_key_is_short() -> None:
    """No key's first voicing is more than an octave's way from the last of the key before.

    Choosing all keys together never moves more than the worst choice of octaves would.
    """
    placed = place_keys(TARGET, key_order("fourths"))
    for before, after in pairwise(placed):
        low = [p - 12 for p in after.pitches[0]]
        high = [p + 12 for p in after.pitches[0]]
        here = movement(before.pitches[-1], after.pitches[0])
        assert here <= max(movement(before.pitches[-1], low), movement(before.pitches[-1], high))


def test_the_register_is_kept_where_it_can_be() -> None:
    """A high register moves everything up; an upside-down one is refused."""
    low = best_places(TARGET, 0, Register(low=40, high=64))
    high = best_places(TARGET, 0, Register(low=60, high=88))
    assert min(high.pitches[0]) > min(low.pitches[0])
    assert min(p for row in high.pitches for p in row) >= 60
    with pytest.raises(Complaint, match="the lower key first"):
        Register(low=80, high=40)


def test_a_wide_reach_is_cautioned() -> None:
    """R b7 3 in the left hand is a tenth, 16 semitones (common practice): a stretch.

    The four notes above it span 15, so the left hand cannot give its 3 away.
    """
    tenth = parse_target("V13: R b7 3 13 9 5 R", name="tenths")
    assert tenth.chords[0].heights[:4] == (0, 10, 16, 21)
    text = render_text(make_drill(tenth, [0]))
    assert "the left hand spans a tenth" in text
    assert "never forced" in text
    close = render_text(make_drill(parse_target("Imaj9: 3 5 7 9"), [0]))
    assert "spans" not in close


def test_chords_without_stacks_are_voiced() -> None:
    """The chosen stacks hold the guide tones, nothing foreign, and lead smoothly."""
    target = voiced(parse_target("IIm7b5 | V7alt | Im6"))
    assert target.has_stacks
    for chord in target.chords:
        sounding = {pitch_class(degree) for degree in chord.degrees}
        assert {pitch_class(degree) for degree in chord.guide_tones} <= sounding
        assert sounding <= {pitch_class(degree) for degree in chord.row.degrees}
    places = target.places
    assert all(movement(a, b) <= 24 for a, b in pairwise(places))


def _drill(**changes: object) -> Drill:
    return make_drill(TARGET, key_order("fourths"), tempo_bpm=120, **changes)  # type: ignore[arg-type]


def test_keys_begin_on_bar_lines_after_the_count_in() -> None:
    """One bar counted in, three bars a key, and three empty ones with an answer."""
    drill = _drill()
    assert [drill.key_start(i) for i in range(3)] == [4, 16, 28]
    answered = _drill(answer=True, count_in=2)
    assert [answered.key_start(i) for i in range(3)] == [8, 32, 56]
    assert answered.beats == 8 + 12 * 24


def test_midi_says_what_the_drill_says() -> None:
    """Read back with mido: notes at their ticks, tempo, metre, clicks, markers."""
    drill = _drill(answer=True)
    file = mido.MidiFile(file=io.BytesIO(render(drill)))
    assert (file.type, file.ticks_per_beat, len(file.tracks)) == (1, TICKS, 3)
    assert file.length == pytest.approx(drill.beats * 60 / 120)
    struck: list[tuple[int, int]] = []
    clicks: list[tuple[int, int]] = []
    for track in file.tracks:
        now = 0
        for message in track:
            now += message.time
            if message.type == "note_on":
                (clicks if message.channel == 9 else struck).append((now, message.note))
    wanted = [(round(one.start * TICKS), p) for one in drill.struck() for p in one.pitches]
    assert sorted(struck) == sorted(wanted)
    # General MIDI percussion: 76 high wood block, 77 low wood block
    assert clicks == [(i * TICKS, 77 if i % 4 else 76) for i in range(drill.beats)]
    first_note = min(tick for tick, _ in struck)
    assert first_note == 4 * TICKS
    tempos = [m.tempo for m in file.tracks[0] if m.type == "set_tempo"]
    assert tempos == [mido.bpm2tempo(120)]
    markers = [m.text for m in file.tracks[0] if m.type == "marker"]
    assert markers[:3] == ["key of C", "key of F", "key of Bb"]
    assert len(mido.MidiFile(file=io.BytesIO(render(drill, click=False))).tracks) == 2


def test_every_note_that_begins_ends() -> None:
    """No hanging notes in the file, and none struck while it sounds."""
    file = mido.MidiFile(file=io.BytesIO(render(_drill())))
    for track in file.tracks:
        sounding: set[tuple[int, int]] = set()
        for message in track:
            if message.type == "note_on":
                assert (message.channel, message.note) not in sounding
                sounding.add((message.channel, message.note))
            elif message.type == "note_off":
                sounding.remove((message.channel, message.note))
        assert sounding == set()


@pytest.mark.parametrize("target", WITH_STACKS, ids=lambda one: one.name)
def test_a_drill_played_as_written_is_clean(target: Target) -> None:
    """The drill as a take, checked against its own target: twelve clean passes, twelve keys."""
    drill = make_drill(target, key_order("fourths"), answer=True)
    take = as_take(drill, version="0.1.0")
    found = review(take, target)
    assert [one.key for one in found.passes] == list(key_order("fourths"))
    assert [fault for one in found.passes for fault in one.faults] == []
    assert from_json(to_json(take)) == take


def test_text_shows_keys_symbols_notes_and_hands() -> None:
    """Spelled over the chord: the 3 of Bb13(b9) is D, the b9 is Cb."""
    text = render_text(make_drill(TARGET, [3]))
    assert "Bb13(b9)" in text
    assert "Cb4" in text
    long = render_text(make_drill(WITH_STACKS[-2], [0]))
    assert long.count("\n") > len(WITH_STACKS[-2].chords)


def test_the_command_writes_text_midi_and_json(tmp_path: Path) -> None:
    """From a target, from typed chords and from a take, in chosen keys."""
    run = CliRunner().invoke
    midi = tmp_path / "drill.mid"
    shown = run(commands, ["drill", "--changes", TARGET_TEXT, "--midi", str(midi), "--answer"])
    assert shown.exit_code == 0, shown.output
    assert "Ebm9" in shown.output
    assert mido.MidiFile(midi).length > 0
    told = run(commands, ["drill", "--changes", "V7 | Imaj7", "--keys", "Eb,A", "--json"])
    data = json.loads(told.output)
    assert [one["key"] for one in data["keys"]] == ["Eb", "A"]
    take = tmp_path / "take.json"
    rows = [(0.5 + i, row) for i, row in enumerate(TWO_FIVE)]
    take.write_text(to_json(take_of(rows)))
    found = run(commands, ["drill", "--take", str(take), "--order", "half-up"])
    assert "b7 b9 3 13" in found.output
    folder = tmp_path / "out"
    written = run(commands, ["drill", "--changes", "V7 | Imaj7", "--keys", "C",
                             "--formats", "text,midi", "-o", str(folder)])  # fmt: skip
    assert written.exit_code == 0, written.output
    assert {path.name for path in folder.iterdir()} == {"drill.txt", "drill.mid"}


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["drill"], "say what was to be played"),
        (["drill", "--changes", "V7", "--take", "x.json"], "one of them"),
        (["drill", "--changes", "V7 | I", "--order", "thirds"], "no order is called"),
        (["drill", "--changes", "V7 | I", "--low", "C9"], "not on the piano"),
        (["drill", "--changes", "V7 | I", "--low", "C6"], "the lower key first"),
        (["drill", "--changes", "V7 | I", "--keys", "H"], "no key is called 'H'"),
        (["drill", "--changes", "V7 | I", "--formats", "doc"], "--formats 'doc'"),
    ],
)
def test_bad_input_is_one_sentence(words: list[str], sentence: str) -> None:
    """What came and what is allowed."""
    result = CliRunner().invoke(commands, words)
    assert isinstance(result.exception, Complaint)
    assert sentence in str(result.exception)


@pytest.mark.parametrize(
    ("text", "meter", "starts"),
    [
        ("Dm7 | G7 | Cmaj7", 3, [3, 6, 9]),
        ("Dm7 G7 | Cmaj7", 4, [4, 6, 8]),
        ("Dm7 | G7 | Cmaj7", 5, [5, 10, 15]),
        ("Dm7 G7 | Cmaj7", 3, [3, Fraction(9, 2), 6]),
    ],
)
def test_a_bar_of_the_target_is_a_bar_of_the_drill(
    text: str, meter: int, starts: list[int]
) -> None:
    """In 3/4 a chord that has a bar lasts three beats, after a bar of count-in."""
    made = make_drill(parse_target(text), [0], beats_per_bar=meter)
    assert [one.start for one in made.struck()] == starts
    assert made.bars_per_key == len(text.split("|"))


@pytest.mark.parametrize("symbol", ["Im", "I", "IV6", "V7(b9,#11)", "Isus4", "Imaj7(#5)", "I+"])
def test_any_symbol_is_voiced(symbol: str) -> None:
    """A plain triad and a chord that no table has a shape for: its own notes, guide tones first."""
    target = parse_target(f"V7 | {symbol}")
    made = make_drill(target, [0, 5])
    chord = made.target.chords[1]
    assert len(chord.stack) >= 3
    assert set(map(str, chord.degrees)) <= set(target.chords[1].row.degrees)
    assert set(target.chords[1].guide_tones) <= set(map(str, chord.degrees))


@pytest.mark.parametrize(
    ("meter", "beats", "signature", "starts"),
    [("6/8", 2, (6, 8), [2, 4, 5]), ("12/8", 4, (12, 8), [4, 8, 10]), ("3/4", 3, (3, 4), None)],
)
def test_a_bar_of_dotted_quarters_is_a_bar(
    meter: str, beats: int, signature: tuple[int, int], starts: list[int] | None
) -> None:
    """6/8 is two beats, 12/8 four; in MIDI a beat is three eighths, a bar is as long as it says.

    Standard MIDI files 1.0: the tempo counts quarters, the signature names eighths.
    """
    read = read_drill_meter(meter)
    assert read == (beats, 3 if starts else 2)
    made = make_drill(
        parse_target("Dm7 | G7 Cmaj7"), [0], beats_per_bar=read[0], parts=read[1], tempo_bpm=60
    )
    if starts:
        assert [one.start for one in made.struck()] == starts
    assert made.meter == meter
    file = mido.MidiFile(file=io.BytesIO(render(made)))
    heads = [one for one in file.tracks[0] if one.type == "time_signature"]
    assert [(one.numerator, one.denominator) for one in heads] == [signature]
    ons = [time for time, message in _timed(file) if message.type == "note_on"
           and message.channel == 0 and message.velocity]  # fmt: skip
    assert min(ons) == pytest.approx(beats)  # a bar of count-in at one beat a second
    assert file.length == pytest.approx(3 * beats, abs=0.01)


def _timed(file: mido.MidiFile) -> list[tuple[float, mido.Message]]:
    now, found = 0.0, []
    for message in file:
        now += message.time
        found.append((now, message))
    return found


@pytest.mark.parametrize("typed", ["Eb", "eb", "EB", "eB", "Eb minor", "ebm", "EBM", "E\u266d"])
def test_keys_are_typed_in_any_case(typed: str) -> None:
    """All of these are E flat."""
    assert read_key(typed) == 3
