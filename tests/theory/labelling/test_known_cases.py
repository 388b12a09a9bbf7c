"""Chords that are easily misread, each in a few chords of context, in several keys.

Stacks and names are common practice; those with a source beside them stand in print.
"""

import re

import pytest

from stackline.shared.harmony import ChordSpan
from stackline.shared.notes import BeatGrid
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of, spelled_with
from stackline.theory.chords.symbols import parse_symbol
from stackline.theory.reading import read
from tests.support.takes.played import attacks

KEYS = (-5, 0, 2, 5)
SURE = 0.9


def stack(text: str) -> tuple[int, ...]:
    """Note names low to high, the first with its octave, each the next one above: ``E2 B D``."""
    pitches = []
    for word in text.split():
        (read,) = re.finditer(r"^([A-G][b#]?)(\d?)$", word)
        name, octave = read.groups()
        pc = pitch_class_of(name)
        if octave:
            pitches.append(12 * (int(octave) + 1) + pc)
        else:
            pitches.append(pitches[-1] + 1 + (pc - pitches[-1] - 1) % 12)
    return tuple(pitches)


def heard(texts: list[str], up: int = 0) -> list[ChordSpan]:
    """The chord spans of some stacks, moved up by semitones."""
    stacks = [tuple(pitch + up for pitch in stack(text)) for text in texts]
    found = read(attacks(*stacks), BeatGrid(), end_s=2.0 * len(stacks))
    return [voicing.chord for voicing in found.voicings]


def named(span: ChordSpan, up: int = 0) -> tuple[int, str]:
    """Root pitch class, moved down again, and quality."""
    return (pitch_class_of(span.symbol.root) - up) % 12, span.symbol.quality


CASES = {
    # the major triad on the b6 over an altered dominant, its root sounding; johncarlosbaez, 2023
    "bVI over V": (["F3 Ab C D", "F3 B Eb G Bb", "Eb3 G A D"], 1, 7, {"7(#9,b13)", "7alt"}),
    "m6/9 spread": (["F3 Ab C D", "F3 Ab B Eb", "C2 G Eb A D"], 2, 0, {"m6/9"}),
    "maj9 as a block chord after its V": (
        ["Ab3 C Eb G", "Ab3 C D G", "D4 F G Bb D"], 2, 3, {"maj9", "maj7"},
    ),
    "first passing diminished": (["C4 E G A", "C#4 E G Bb", "D4 F A C"], 1, 1, {"dim7"}),
    "second passing diminished": (
        ["C4 E G A", "C#4 E G Bb", "D4 F A C", "D#4 F# A C"], 3, 3, {"dim7"},
    ),
    "a triad after its tenth": (["C3 E4", "G3 C E"], 1, 0, {""}),
    "and going on in triads": (["C3 E4", "G3 C E", "F3 A C", "G3 B D", "C3 E4"], 1, 0, {""}),
    "IV over the tonic": (["C3 E G", "C3 F A", "C3 E G"], 1, 5, {""}),
    "a complete seventh chord over its fifth": (["B2 E G# D"], 0, 4, {"7"}),
    "the same before its tonic": (["A2 E A C#", "B2 E G# D", "A2 E A C#"], 1, 4, {"7"}),
    # R 11 b7 b3 5; jazztutorial.com
    "m11 in fourths with its third on top": (["D3 G C F A"], 0, 2, {"m11", "m7"}),
    "sus with a flat ninth over its root": (["E2 B D A F"], 0, 4, {"7sus(b9)"}),
    "the same before its dominant": (
        ["E2 F3 A B D", "E2 F3 G# B D", "A2 E3 G C"], 0, 4, {"7sus(b9)"},
    ),
    "minor with a major seventh in an inner line": (
        ["A3 C E A", "A3 C E G#", "A3 C E G", "A3 C E F#"], 1, 9, {"mMaj7"},
    ),
    "the same, lower and wider": (["A2 E3 C E A", "A2 E3 C E G#", "A2 E3 C E G"], 1, 9, {"mMaj7"}),
    "a bare fifth": (["C3 G"], 0, 0, {"5"}),
    "bare fifths": (["C3 G", "F3 C", "G3 D", "C3 G"], 2, 7, {"5"}),
    "a suspended chord over its root": (["C3 F Bb D G"], 0, 0, {"9sus"}),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("up", KEYS)
def test_a_chord_is_read_as_it_is_meant(case: str, up: int) -> None:
    """Root and quality of the one chord that the case is about."""
    texts, which, root, qualities = CASES[case]
    found_root, found = named(heard(texts, up)[which], up)
    assert (found_root, found in qualities) == (root, True), found


def test_a_fifth_among_shells_is_a_shell() -> None:
    """b3 b7, b7 3, 3 7: the fifths at both ends of a ii-V-I are guide tones of it."""
    spans = heard(["F3 C", "F3 B", "E3 B"])
    assert [named(span)[0] for span in spans] == [2, 7, 0]
    assert all(span.symbol.quality != "5" for span in spans)


def test_a_chord_with_both_sevenths_is_never_said_surely() -> None:
    """C E G Bb B is no chord of the table: whatever it is called stands with a doubt."""
    for text in ("C3 E G Bb B", "C3 E Bb B D", "C3 Bb E G B"):
        assert heard([text])[0].confidence < SURE


# The same notes twice: context decides, as far as it goes, and the other reading is shown.
TIES = {
    "13 or altered a tritone away": (["E3 A Bb D"], 0, 6),
    "m6/9 or 13 a fourth up": (["Eb3 G A D"], 0, 5),
    "maj7 or m9 a third below": (["C4 E G B"], 0, 9),
    "9sus or m7": (["F3 G Bb D"], 0, 7),
}


@pytest.mark.parametrize("case", TIES)
def test_a_tie_alone_is_said_with_doubt_and_shows_the_other(case: str) -> None:
    """Neither root is said with 0.9, and both stand among the first three."""
    texts, one, other = TIES[case]
    span = heard(texts)[0]
    shown = {pitch_class_of(span.symbol.root)} | {
        pitch_class_of(alternative.symbol.root) for alternative in span.alternatives
    }
    assert span.confidence < SURE
    assert {one, other} <= shown


VAMPS = {
    "maj9, root left out": ("E3 G B D", "F3 Ab C Eb"),
    "maj7, rooted": ("C3 G B E", "Db3 Ab C F"),
    "13 in fourths": ("D3 G# C# F#", "Db3 G C F"),
    "9sus": ("C3 Bb D F", "Db3 B Eb Gb"),
    "fourths": ("D3 G C F A", "Eb3 Ab Db Gb Bb"),
}


@pytest.mark.parametrize("vamp", VAMPS)
@pytest.mark.parametrize("length", [3, 4, 5, 8])
def test_a_vamp_by_half_step_keeps_its_two_chords(vamp: str, length: int) -> None:
    """A B A B: every A has one name, every B has A's quality moved by the half step."""
    texts = [VAMPS[vamp][i % 2] for i in range(length)]
    spans = [named(span) for span in heard(texts)]
    step = (stack(texts[1])[0] - stack(texts[0])[0]) % 12
    assert set(spans[0::2]) == {spans[0]}
    assert set(spans[1::2]) == {((spans[0][0] + step) % 12, spans[0][1])}


# A bass under a symbol: the root sounds above another note that lies as low as a bass.
OVER = {
    "IV over the tonic": (["C3 E G", "C3 F A", "C3 E G"], 1, "F/C"),
    "a seventh chord over its fifth": (["B2 E G# D"], 0, "E7/B"),
    "over its third, to the next root": (["F2 C3 A", "F#2 C3 A D", "G2 B D G"], 1, "D7/F#"),
    "over its seventh": (["C3 E G C", "Bb2 C3 E G", "A2 C F A"], 1, "C7/Bb"),
    "and on to the third of the next": (["C3 E G C", "Bb2 C3 E G", "A2 C F A"], 2, "F/A"),
    "I over its third": (["C3 E G C", "E3 G C", "F3 A C", "G3 B D", "C3 G C E"], 1, "C/E"),
    "a triad over a pedal": (["C2 G C4 E G", "C2 D4 F# A", "C2 Eb4 Ab C"], 1, "D7/C"),
}


@pytest.mark.parametrize("case", OVER)
def test_a_heard_chord_carries_its_bass(case: str) -> None:
    """Symbol, bass and Harte's degree of it agree; common practice."""
    texts, which, symbol = OVER[case]
    found = heard(texts)[which].symbol
    assert found.text == symbol
    assert found.bass == symbol.split("/")[1]
    assert parse_symbol(found.text) == found


NOT_OVER = {
    "a triad high up is an inversion": ["G3 C E"],
    "no root sounds": ["E3 A Bb D"],
    "guide tones under a triad": ["B2 F Bb Db G"],
    "half-diminished, its third lowest": ["D3 F A B"],
    "diminished": ["B2 D F G#"],
    "the root itself": ["C2 E3 Bb D"],
}


@pytest.mark.parametrize("case", NOT_OVER)
def test_what_is_no_bass_is_not_written(case: str) -> None:
    """Hands play these without meaning another bass; common practice."""
    assert all(span.symbol.bass is None for span in heard(NOT_OVER[case]))


def test_a_bass_is_spelled_as_was_asked() -> None:
    """Flats throughout: the third of D is Gb."""
    with spelled_with("flats"):
        assert heard(OVER["over its third, to the next root"][0])[1].symbol.bass == "Gb"


# Shells: 3 and 7 of each chord, or b3 and 6, 4 and b7, b3 and bb7; in the usual moves.
SHELLS: dict[str, tuple[list[str], list[tuple[int, str | None] | None]]] = {
    "ii-V-I": (["F3 C", "F3 B", "E3 B"], [(2, "minor"), (7, "dominant"), (0, "major")]),
    "I-vi-ii-V": (
        ["E3 B", "C3 G", "C3 F", "B2 F", "E3 B"],
        [(0, "major"), (9, "minor"), (2, "minor"), (7, "dominant"), (0, "major")],
    ),
    "minor tonic with a 6 after its V": (
        ["F3 C", "F3 B", "Eb3 A", "F3 B", "Eb3 A"],
        [(2, None), (7, "dominant"), (0, "minor"), (7, "dominant"), (0, "minor")],
    ),
    "sharpened diminished between I and ii": (
        ["E3 B", "E3 Bb", "F3 C", "F3 B", "E3 B"],
        [(0, "major"), None, (2, "minor"), (7, "dominant"), (0, "major")],
    ),
}


@pytest.mark.parametrize("case", SHELLS)
@pytest.mark.parametrize("up", KEYS)
def test_shells_are_read_by_their_guide_tones(case: str, up: int) -> None:
    """Root and family; None where two names are as good (C7 or C#dim7 before Dm)."""
    texts, meant = SHELLS[case]
    for span, truth in zip(heard(texts, up), meant, strict=True):
        if truth is not None:
            root, family = truth
            found_root, found = named(span, up)
            assert found_root == root
            assert family in (None, quality(found).family)


def test_a_substitute_in_shells_is_never_said_surely() -> None:
    """Am7 Ab7 Gmaj7 and Am7 D7 Gmaj7 are the same notes in shells: the V stands with a doubt,

    and the substitute beside it.
    """
    span = heard(["G3 C", "Gb3 C", "F#3 B"])[1]
    assert span.confidence < SURE
    assert {pitch_class_of(span.symbol.root)} | {
        pitch_class_of(one.symbol.root) for one in span.alternatives[:1]
    } == {2, 8}


# Guide tones anywhere and any tensions; common practice.
def test_free_voicings_of_a_cadence_keep_their_names() -> None:
    """Two ii-V-I in C of six stacks in no usual order."""
    spans = heard([
        "C3 F A D E", "F3 B C E A", "G3 B E D", "A3 C F E", "B2 A D F", "E3 D G B D",
    ])  # fmt: skip
    assert [named(span)[0] for span in spans] == [2, 7, 0, 2, 7, 0]
