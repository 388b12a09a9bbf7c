"""What rests show, counted by hand; slow endings, on a published curve."""

import mir_eval
import numpy as np
import pytest

from stackline.listen.time.beats import find_beats
from stackline.listen.time.rhythms import rests_after
from tests.listen.time.test_beats import comping_on, times


def test_rests_are_long_waits() -> None:
    """Counted by hand: eighths of 0.2 s, one wait of twice that, one of five times, the end."""
    onsets = np.array([0.0, 0.2, 0.4, 0.6, 1.0, 1.2, 2.2])
    assert rests_after(onsets).tolist() == [0, 0, 0, 1, 0, 2, 2]
    assert rests_after(onsets[:1]).tolist() == [2]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_final_ritardando_is_followed(seed: int) -> None:
    """Eight beats down to half the tempo, v = (1 + (w**3 - 1) x) ** (1/3): beats to the end.

    Beats are counted from the first attack to the last, as in `bench.scoring.time_scoring`.
    The curve that listeners prefer: A. Friberg and J. Sundberg, J. Acoust. Soc. Am. 105, 1999.
    """
    part = np.clip((np.arange(97) - 88) / 8, 0, 1)
    lengths = 0.55 * (1 + (0.5**3 - 1) * part) ** (-1 / 3)
    attacks, beats = comping_on(lengths, np.random.default_rng(seed), start_s=0.6)
    first_s, last_s = attacks[0].onset_s - 0.1, attacks[-1].onset_s + 0.1
    true, heard = (
        some[(some >= first_s) & (some <= last_s)] for some in (beats, times(find_beats(attacks)))
    )
    assert mir_eval.beat.f_measure(true, heard) > 0.95
