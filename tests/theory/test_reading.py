"""The reading of attacks: names, alternatives, spans, and the cases that trip programs up."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stackline.shared.notes import BeatGrid
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.reading import Reading, read
from stackline.theory.stacks.shapes import Shape, realise, shapes
from tests.support.takes.played import attack, attacks, note

TIES = json.loads((Path(__file__).parents[1] / "data/theory/equivalences.json").read_text())
DM9, G13, G13B9, CMAJ9 = (53, 57, 60, 64), (53, 57, 59, 64), (53, 59, 64, 68), (52, 55, 59, 62)


def heard(*stacks: Sequence[int], every_s: float = 2.0, end_s: float = 100.0) -> Reading:
    """The reading of stacks one after another, without a pulse."""
    return read(attacks(*stacks, every_s=every_s), BeatGrid(), end_s=end_s)


def texts(reading: Reading) -> list[str]:
    """Symbols in order."""
    return [voicing.chord.symbol.text for voicing in reading.voicings]


@pytest.mark.parametrize("up", range(12))
def test_a_rootless_ii_v_i_through_twelve_keys(up: int) -> None:
    """In every key the same qualities, degrees and sureness, on the moved roots."""
    found = heard(*[tuple(p + up for p in stack) for stack in (DM9, G13B9, CMAJ9)])
    assert [v.chord.symbol.quality for v in found.voicings] == ["m9", "13(b9)", "maj9"]
    assert [pitch_class_of(v.chord.symbol.root) for v in found.voicings] == [
        (root + up) % 12 for root in (2, 7, 0)
    ]
    assert [[str(d) for d in v.stack] for v in found.voicings] == [
        ["b3", "5", "b7", "9"], ["b7", "3", "13", "b9"], ["3", "5", "7", "9"],
    ]  # fmt: skip
    assert min(v.chord.confidence for v in found.voicings) > 0.65  # the first may be a IV as well


def test_alternatives_have_reasons() -> None:
    """At least two runners-up, each with a reason; the tritone twin is among them."""
    found = heard(DM9, G13B9, CMAJ9)
    for voicing in found.voicings:
        assert len(voicing.chord.alternatives) >= 2
        assert all(one.reason for one in voicing.chord.alternatives)
        assert voicing.chord.confidence >= voicing.chord.alternatives[0].confidence
    twin = found.voicings[1].chord.alternatives[0]
    assert twin.symbol.text == "Db7(#9)"
    assert twin.reason == "the same notes are Db7(#9), a tritone away; the chords before decide"


def test_the_next_root_decides_between_tritone_twins() -> None:
    """The same four notes are G7(b9,b13) before C and Db9 before Gb; context names them."""
    twin = (53, 56, 59, 63)  # F Ab B Eb: b7 b9 3 b13 of G, 3 5 b7 9 of Db
    assert texts(heard(DM9, twin, CMAJ9))[1].startswith("G7(b9,b13)")
    abm9 = (54, 58, 59, 63)  # Gb Bb Cb Eb: b7 9 b3 5 of Abm9
    gbmaj9 = (53, 56, 58, 61)  # F Ab Bb Db: 7 9 3 5 of Gbmaj9
    assert texts(heard(abm9, twin, gbmaj9))[1] == "Db9"


def test_a_bass_decides_where_notes_do_not() -> None:
    """A lone low root under the ringing chord is evidence, and the reason says so."""
    stack = (53, 57, 60, 64)  # F A C E: Dm9 or Fmaj7
    ring = [note(p, 0.0, 4.0) for p in stack]
    for bass, expected in ((38, "Dm9"), (41, "Fmaj7")):
        taken = [attack(0.0, stack, length_s=4.0), attack(0.5, (bass,), held=ring)]
        found = read(taken, BeatGrid(), end_s=4.0)
        assert texts(found) == [expected]
    assert "bass" in found.voicings[0].chord.alternatives[0].reason


def test_a_chord_span_holds_until_the_next_chord() -> None:
    """Re-voiced chords share a span; the last holds to the end."""
    found = heard(DM9, (60, 64, 65, 69), G13B9, CMAJ9, end_s=9.0)
    assert [(v.chord.start_s, v.chord.end_s) for v in found.voicings] == [
        (0.0, 4.0), (0.0, 4.0), (4.0, 6.0), (6.0, 9.0),
    ]  # fmt: skip
    assert found.motions[0].resolutions == ()


def test_a_suspended_chord_may_resolve_on_its_own_root() -> None:
    """4 13 b7 9 to 3 13 b7 9, the root touched while the first rings: G13sus, then G13."""
    first = attack(0.0, (60, 64, 65, 69))
    taken = [
        first, attack(0.5, (43,), held=first.struck),
        attack(2.0, (59, 64, 65, 69)), attack(4.0, (55, 59, 62, 64)),
    ]  # fmt: skip
    found = read(taken, BeatGrid(), end_s=6.0)
    assert texts(found)[:2] == ["G13sus", "G13"]
    assert [str(one.degree) for one in found.motions[0].resolutions] == ["4"]


def test_blues_dominants_stand_as_they_are() -> None:
    """F7 and Bb7 by turns are dominants, whatever key they seem to be in."""
    f13, bb9 = (51, 57, 62, 67), (50, 56, 60, 65)
    found = heard(f13, bb9, f13, f13, bb9, bb9, f13)
    assert [v.chord.symbol.root for v in found.voicings] == ["F", "Bb", "F", "F", "Bb", "Bb", "F"]
    assert {quality(v.chord.symbol.quality).family for v in found.voicings} == {"dominant"}


def test_a_vamp_of_parallel_stacks_is_no_ii_v() -> None:
    """Fourths with a third moved a whole step up and back keep one quality."""
    stack = (50, 55, 60, 65, 69)
    up = tuple(p + 2 for p in stack)
    found = heard(stack, up, stack, up, stack)
    assert len({v.chord.symbol.quality for v in found.voicings}) == 1
    steps = {pitch_class_of(v.chord.symbol.root) for v in found.voicings}
    assert len(steps) == 2


def test_lone_notes_and_octaves_are_no_voicings() -> None:
    """One pitch class is not read; two are."""
    assert heard((60,), (48, 60)).voicings == ()
    assert len(heard((53, 59)).voicings) == 1
    assert read([], BeatGrid(), end_s=1.0).voicings == ()


def test_extreme_stacks_are_read_with_warnings() -> None:
    """Eleven notes, the lowest and the highest keys: a reading, and the doubt in words."""
    found = heard(tuple(range(30, 74, 4)), (21, 28, 45, 52), (96, 100, 103, 108))
    assert len(found.voicings) == 3
    assert any("more than ten fingers" in text for text in found.voicings[0].warnings)
    assert any("lies low" in text for text in found.voicings[1].warnings)


def test_confidence_of_notes_is_the_product_of_theirs() -> None:
    """The chance that all notes are right."""
    found = heard(DM9)
    assert found.voicings[0].confidence == pytest.approx(0.98**4)


# The stacks that the data file's names stand for, in semitones over the root.
TIED = {
    "m7 rootless": (3, 7, 10, 14), "maj9 rootless": (4, 7, 11, 14), "13 rootless": (4, 9, 10, 14),
    "7alt #9b13 rootless": (10, 15, 16, 20), "7alt b9b13 rootless": (4, 8, 10, 13),
    "7b9 rootless (3 5 b7 b9)": (4, 7, 10, 13), "9 rootless (3 5 b7 9)": (4, 7, 10, 14),
    "9sus rootless (4 5 b7 9)": (5, 7, 10, 14), "13sus rootless (4 13 b7 9)": (5, 9, 10, 14),
    "6/9 rootless": (4, 7, 9, 14), "m7b5 (with root)": (0, 3, 6, 10), "dim7": (0, 3, 6, 9),
    "m7 rooted": (0, 3, 7, 10), "fourths+third (5 notes)": (0, 5, 10, 15, 19),
    "maj9(13) 3-up fourths": (4, 9, 14, 19, 23), "dom guide tones": (4, 10),
    "m guide tones": (3, 10), "maj guide tones": (4, 11), "m6 guide tones": (3, 9),
}  # fmt: skip


@pytest.mark.parametrize("row", TIES, ids=lambda row: f"{row['a']} = {row['b']}")
def test_computed_ties_are_ties_in_the_labeller_too(row: dict[str, Any]) -> None:
    """Where two chords are one set of notes, one of them is named or offered."""
    voicing = heard(tuple(60 + step for step in TIED[row["a"]])).voicings[0]
    named = [voicing.chord.symbol, *(one.symbol for one in voicing.chord.alternatives)]
    roots = {pitch_class_of(symbol.root) for symbol in named}
    assert roots & {0, row["root_of_b_above_a"] % 12}


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(shapes()), st.integers(0, 11)), min_size=1, max_size=6))
def test_transposing_a_take_changes_no_name(line: list[tuple[Shape, int]]) -> None:
    """A law: notes up by a fourth, roots up by a fourth, everything else as it was."""
    stacks = [realise(shape, root, 50) for shape, root in line]
    before = heard(*stacks).voicings
    after = heard(*[tuple(p + 5 for p in stack) for stack in stacks]).voicings
    for one, two in zip(before, after, strict=True):
        assert two.chord.symbol.quality == one.chord.symbol.quality
        moved = (pitch_class_of(two.chord.symbol.root) - pitch_class_of(one.chord.symbol.root)) % 12
        assert moved == 5
        assert two.stack == one.stack
        assert two.structures == one.structures
        assert two.chord.confidence == pytest.approx(one.chord.confidence, abs=1e-3)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.integers(30, 90), min_size=1, max_size=8, unique=True), max_size=5))
def test_any_notes_give_a_sound_reading(stacks: list[list[int]]) -> None:
    """Whatever is struck: tones are the notes, names sound as they are spelled, motions join."""
    found = heard(*stacks)
    for voicing in found.voicings:
        assert set(voicing.pitches) <= set(voicing.attack.pitches)
        root = pitch_class_of(voicing.chord.symbol.root)
        for tone in voicing.tones:
            letters = tone.name.rstrip("-0123456789")
            assert pitch_class_of(letters) == tone.midi % 12
            assert (root + pitch_class(tone.degree)) % 12 == tone.midi % 12
        assert 0.0 <= voicing.chord.confidence <= 1.0
    assert [(m.from_index, m.to_index) for m in found.motions] == [
        (i, i + 1) for i in range(len(found.voicings) - 1)
    ]


def test_a_slip_is_named_as_its_neighbour_moved() -> None:
    """Gbmaj13 up a semitone and back: movement; the chord and its name go on around it."""
    stack, v_chord = (53, 58, 63, 68), (53, 59, 62, 70)  # 7 3 13 9 of Gb; 3 b7 b9 13 of Db
    up = tuple(p + 1 for p in stack)
    found = heard((54, 58, 59, 63), v_chord, stack, up, stack, (54, 57, 61, 63))
    assert texts(found)[2] == texts(found)[4] == "Gbmaj13"
    assert texts(found)[3] == "Gmaj13"
    assert [m.parallel and m.parallel.kind for m in found.motions[2:4]] == ["side-slip"] * 2
    assert not found.motions[2].resolutions
