"""What is played in training: chords from lists and from none, and scores of clips."""

import numpy as np

from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from training.synthesis.clip_score import PIANO, ROWS
from training.synthesis.scores import draw
from training.synthesis.voicings import free, listed, moved

LENGTH = 73_216


def test_every_chord_fits_the_piano_and_ten_fingers() -> None:
    """Thousands of chords: 1 to 10 different keys, rising, all on the keyboard."""
    rng = np.random.default_rng(1)
    for _ in range(3000):
        for make in (listed, free):
            keys = make(rng)
            for chord in (keys, moved(rng, keys)):
                assert 1 <= len(chord) <= 10
                assert list(chord) == sorted(set(chord))
                assert chord[0] >= LOWEST_MIDI
                assert chord[-1] <= HIGHEST_MIDI


def test_free_chords_have_doublings_and_chords_without() -> None:
    """Octaves stand in a good part of free chords, and are missing in a good part."""
    rng = np.random.default_rng(2)
    chords = [free(rng) for _ in range(1000)]
    with_octave = sum(any(key + 12 in chord for key in chord) for chord in chords)
    assert 300 < with_octave < 800


def test_a_seed_gives_the_same_scores() -> None:
    """Scores are a function of the generator alone."""
    one, two = (draw(np.random.default_rng(7), 6, LENGTH) for _ in range(2))
    assert np.array_equal(one.whole, two.whole)
    assert np.array_equal(one.parts, two.parts)


def test_no_key_is_struck_while_it_is_being_struck() -> None:
    """Strikes of one key are at least 65 ms apart, and the earlier is damped by then."""
    scores = draw(np.random.default_rng(3), 40, LENGTH)
    for whole, parts in zip(scores.whole, scores.parts, strict=True):
        mine = whole[(parts[:, 0] > 0) & (whole[:, 0] == PIANO)]
        assert len(mine) <= ROWS
        for key in set(mine[:, 1].tolist()):
            rows = mine[mine[:, 1] == key]
            rows = rows[np.argsort(rows[:, 3])]
            assert (np.diff(rows[:, 3]) >= 1040).all()
            assert (rows[:-1, 4] <= np.maximum(rows[1:, 3], rows[:-1, 3] + 400)).all()
