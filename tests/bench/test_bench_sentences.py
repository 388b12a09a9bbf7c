"""Every sentence said of made voicings and moves holds, and the checker notices wrong ones."""

import pytest

from bench.harmony.move_sentences import check_motion
from bench.harmony.pitch_facts import Stack
from bench.harmony.sentences import report
from bench.harmony.voicing_sentences import check_voicing


def test_no_sentence_is_false() -> None:
    """500 voicings and their moves, of a seed that no figure is quoted for."""
    found = report(4711, 500)
    assert found.voicings >= 500
    assert found.moves >= 400
    assert found.false == []
    assert found.noticed / found.turned > 0.98


def stack(symbol: str, *pitches: int, left: tuple[int, ...] | None = None) -> Stack:
    """A voicing by hand."""
    return Stack(pitches=pitches, symbol=symbol, struck=pitches, left=left or pitches)


# Worked by hand (common practice): Dm9 as F A C E, G13(b9) as F B E Ab, Cmaj9 as E B D G.
@pytest.mark.parametrize(
    ("sentence", "false"),
    [
        ("Rootless minor 9th, 3rd at the bottom, close.", 0),
        ("Rootless minor 9th, 7th at the bottom, close.", 1),
        ("Rootless minor 9th, 3rd at the bottom, open.", 1),
        ("Rooted minor 9th, 3rd at the bottom, close.", 1),
        ("Rootless dominant 9th, 3rd at the bottom, close.", 1),
        ("Minor 9th as drop 2.", 1),
        ("Rootless minor 9th, close; the 5 is doubled an octave down in the left hand.", 1),
        ("Rootless minor 9th, close; all is well.", 1),
        ("Rootless minor 9th, close; the minor 3rd F3-A3 lies low.", 1),
    ],
)
def test_sentences_on_a_voicing(sentence: str, false: int) -> None:
    """True ones pass, and each kind of untruth is found."""
    assert len(check_voicing(sentence, stack("Dm9", 53, 57, 60, 64))) == false


def test_a_width_said_twice_is_found() -> None:
    """Four-way close is close."""
    close = stack("C7", 60, 64, 67, 70)
    assert check_voicing("Dominant 7th as four-way close.", close) == []
    assert len(check_voicing("Dominant 7th as four-way close, close.", close)) == 1


@pytest.mark.parametrize(
    ("sentence", "false"),
    [
        ("Top line: the b9 steps down to the 5 of Cmaj9.", 0),
        ("Top line: the b9 steps up to the 5 of Cmaj9.", 1),
        ("Top line: the b9 skips down to the 5 of Cmaj9.", 1),
        ("Top line: the b9 steps down to the 5 of Cmaj9; outer voices in parallel motion.", 0),
        ("Guide tones: the b7 steps down to the 3 and the 3 stays as the 7.", 0),
        ("Guide tones: the b7 stays as the 3.", 1),
        ("The b7 landed on the 3; the 13 landed on the 9; the b9 landed on the 5.", 0),
        ("The b7 landed late on the 3.", 1),
        ("The b7 did not land but went to the 7.", 1),
        ("The b9 landed on the 5 in another octave.", 1),
        ("The 3 was held and did not resolve.", 1),
        ("Constant structure, the same shape 1 semitone down.", 1),
    ],
)
def test_sentences_on_a_move(sentence: str, false: int) -> None:
    """G13(b9) to Cmaj9: b7 53-52, 3 59-59, 13 64-62, b9 68-67."""
    before, after = stack("G13(b9)", 53, 59, 64, 68), stack("Cmaj9", 52, 59, 62, 67)
    assert len(check_motion(sentence, before, after)) == false
