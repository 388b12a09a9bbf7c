"""The sentences: every word is a fact of the record."""

from dataclasses import replace

import pytest

from stackline.theory.chords.qualities import QUALITIES
from stackline.theory.explain import chord_words, explain_motion, explain_voicing
from stackline.theory.motion.motion import motions
from tests.support.takes.played import voicing, voicings


# Common practice: how players say chord qualities.
@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("m9", "minor 9th"), ("13(b9)", "dominant 13th with b9"), ("maj7", "major 7th"),
        ("7(#9,b13)", "dominant 7th with #9 and b13"), ("m7b5", "half-diminished 7th"),
        ("6/9", "major 6/9"), ("", "major triad"), ("m", "minor triad"), ("dim7", "diminished 7th"),
        ("mMaj9", "minor with a major 7th and 9"), ("7alt", "altered dominant"),
        ("9sus", "suspended 9th"), ("(add9)", "major triad with 9"), ("+", "augmented triad"),
    ],
)  # fmt: skip
def test_qualities_in_words(key: str, words: str) -> None:
    """A chord as a player says it."""
    assert chord_words(key) == words


def test_every_quality_has_words_of_its_own() -> None:
    """No two qualities sound alike in words."""
    words = [chord_words(row.key) for row in QUALITIES]
    assert len(set(words)) == len(words)


def test_a_rootless_stack_in_one_sentence() -> None:
    """Kind, chord, bottom note and width."""
    text = explain_voicing(voicing("Dm9", (53, 57, 60, 64)))
    assert text == "Rootless minor 9th, 3rd at the bottom, close."


def test_doublings_and_other_kinds_are_told() -> None:
    """What else the stack is, and what is doubled where."""
    text = explain_voicing(voicing("G13(b9)", (53, 59, 64, 68)))
    assert text == "Rootless dominant 13th with b9, open, also drop 2."
    text = explain_voicing(voicing("Cmaj9", (52, 59, 62, 67, 76)))
    assert "the 3 is doubled 2 octaves down in the left hand" in text


def test_held_notes_and_warnings_are_told() -> None:
    """Held tones by degree, warnings as they stand."""
    one = voicing("Dm9", (53, 57, 60, 64, 69))
    held = replace(one, tones=tuple(replace(t, held=t.midi < 69) for t in one.tones))
    assert "the b3, 5, b7 and 9 still sound" in explain_voicing(held)
    assert "lies low" in explain_voicing(voicing("C7", (36, 40, 46)))


def test_a_motion_in_one_sentence() -> None:
    """Top line, guide tones, common tones; all degrees are over their own chord."""
    line = voicings(("Dm9", (53, 57, 60, 64)), ("G13", (53, 57, 59, 64)))
    (move,) = motions(line, None)
    assert explain_motion(move, line) == (
        "Top line: the 9 stays and becomes the 13 of G13; "
        "guide tones: the b3 stays as the b7 and the b7 steps down to the 3; "
        "common tones: the 5 is now the 9 and the 9 is now the 13."
    )


def test_outcomes_are_told_as_they_are() -> None:
    """A missed resolution names where its voice went."""
    line = voicings(("G13(b9)", (53, 59, 64, 68)), ("Cmaj9", (52, 57, 62, 71)))
    (move,) = motions(line, None)
    text = explain_motion(move, line)
    assert "the b7 landed on the 3" in text
    assert "the b9 did not land but went to the 7" in text


def test_side_slips_are_told() -> None:
    """A slip is named as movement, with its size and way."""
    line = voicings(
        ("Dm11", (50, 55, 60, 65)), ("Ebm11", (51, 56, 61, 66)), ("Dm11", (50, 55, 60, 65))
    )
    texts = [explain_motion(move, line) for move in motions(line, 0.5)]
    assert "side-slip, the same shape 1 semitone up" in texts[0]
    assert "side-slip, the same shape 1 semitone down" in texts[1]


def test_doubled_tones_are_told_once() -> None:
    """The 3 that is doubled becomes the 7 twice over, and is told once."""
    line = voicings(("G7", (53, 59, 65, 71)), ("Cmaj9", (52, 59, 64, 71)))
    (move,) = motions(line, None)
    assert explain_motion(move, line).count("the 3 landed on the 7") == 1
    assert explain_motion(move, line).count("the 3 stays as the 7") == 1


def test_a_kind_that_says_its_width_is_not_told_it_again() -> None:
    """Four-way close is close, and a slash chord names its bass."""
    assert explain_voicing(voicing("C7", (60, 64, 67, 70))) == "Dominant 7th as four-way close."
    assert explain_voicing(voicing("C/E", (52, 55, 60))) == (
        "Major triad over E, 3rd at the bottom, close."
    )


def test_a_resolution_that_hangs_on_a_toss_up_says_so() -> None:
    """G7 at 52 percent: what landed holds only if it is G7."""
    sure = voicings(("G13(b9)", (53, 59, 64, 68)), ("Cmaj9", (52, 59, 62, 67)))
    (move,) = motions(sure, None)
    assert "hold only if" not in explain_motion(move, sure)
    unsure = (replace(sure[0], chord=replace(sure[0].chord, confidence=0.52)), sure[1])
    assert explain_motion(move, unsure).endswith(
        "the resolutions hold only if the chord is G13(b9) (52%)."
    )
