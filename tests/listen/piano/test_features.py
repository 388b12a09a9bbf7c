"""The piano ear's features: where a tone stands, how strong it reads, and no drift.

Sources beside each check; levels follow from the definition of the Hann window's coherent
gain (F. J. Harris, Proc. IEEE 66, 1978) by which a full-scale sine has power 1.
"""

from fractions import Fraction

import numpy as np
import pytest

from stackline.listen.piano.features import (
    BINS_PER_KEY,
    FRAME_RATE_HZ,
    HOP,
    N_BINS,
    SAMPLE_RATE_HZ,
    WINDOWS,
    features,
    n_frames,
    triangles,
)
from stackline.shared.units import LOWEST_MIDI, midi_to_hz

MIDDLE = BINS_PER_KEY // 2  # of a key's bins


def _sine(hz: float, seconds: float = 2.0, amplitude: float = 1.0) -> np.ndarray:
    t = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return (amplitude * np.sin(2 * np.pi * hz * t)).astype(np.float32)


@pytest.mark.parametrize("midi", [48, 60, 69, 81, 96, 108])
def test_a_tone_stands_in_its_keys_middle_bin(midi: int) -> None:
    """The longest window reads a sine strongest at the middle bin of its key (MIDI tuning)."""
    frame = features(_sine(midi_to_hz(midi)), first_frame=30, n_frames=1)[-1, 0]
    assert int(np.argmax(frame)) == (midi - LOWEST_MIDI) * BINS_PER_KEY + MIDDLE


def test_a_sine_reads_its_level() -> None:
    """A full-scale sine reads 2 (0 dB) and one at -40 dB reads 0, within half a decibel.

    A triangle sums the lines of the main lobe: 1.5 in power at most (Hann's noise bandwidth).
    """
    bin_of_a4 = (69 - LOWEST_MIDI) * BINS_PER_KEY + MIDDLE
    for amplitude, expected in ((1.0, 2.0), (0.01, 0.0)):
        frame = features(_sine(440.0, amplitude=amplitude), first_frame=30, n_frames=1)[-1, 0]
        lines = 10 * np.log10(1.5) / 20
        assert expected - 0.025 <= frame[bin_of_a4] <= expected + lines + 0.025


def test_silence_reads_the_floor() -> None:
    """No sound reads -2 in every bin: the floor is -80 dB."""
    seen = features(np.zeros(8000, np.float32), first_frame=0, n_frames=n_frames(8000))
    assert seen == pytest.approx(-2.0)


def test_a_detuned_instrument_reads_as_a_tuned_one() -> None:
    """Moving the bins by the tuning's cents undoes the tuning (1200 cents an octave)."""
    tuned = features(_sine(440.0), first_frame=30, n_frames=1)
    sharp = _sine(440.0 * 2 ** (37 / 1200))
    moved = features(sharp, first_frame=30, n_frames=1, offset_cents=37.0)
    middle = (69 - LOWEST_MIDI) * BINS_PER_KEY + MIDDLE
    assert moved[-1, 0, middle] == pytest.approx(tuned[-1, 0, middle], abs=0.02)


def test_frames_do_not_depend_on_where_reading_begins() -> None:
    """Any stretch of frames equals the same frames of the whole, ends included."""
    sound = np.random.default_rng(1).normal(0, 0.1, 40_000).astype(np.float32)
    total = n_frames(len(sound))
    whole = features(sound, first_frame=0, n_frames=total)
    for first, count in ((0, 5), (17, 30), (total - 3, 3)):
        part = features(sound, first_frame=first, n_frames=count)
        assert part == pytest.approx(whole[:, first : first + count], abs=1e-4)


def test_the_frame_rate_is_exact() -> None:
    """16000 / 512 is 125/4, a ratio of whole numbers: an hour later nothing has drifted."""
    assert Fraction(125, 4) == FRAME_RATE_HZ
    assert n_frames(3600 * SAMPLE_RATE_HZ) == 112_501
    assert HOP * FRAME_RATE_HZ == SAMPLE_RATE_HZ


@pytest.mark.parametrize("size", [window.size for window in WINDOWS])
def test_every_bin_listens_to_something(size: int) -> None:
    """No bin is deaf, also where lines are wider apart than bins."""
    weights = triangles(size)
    assert weights.shape == (N_BINS, size // 2 + 1)
    assert (weights.sum(axis=1) > 0.4).all()


def test_training_sees_the_same_numbers() -> None:
    """The torch form of the features equals the numpy form (where torch is installed)."""
    torch = pytest.importorskip("torch", exc_type=ImportError)
    from stackline.listen.piano.features import AFTER, BEFORE
    from training.network.spectra import Spectra, clip_samples

    sound = np.random.default_rng(2).normal(0, 0.1, clip_samples(40)).astype(np.float32)
    seen = Spectra()(torch.from_numpy(sound)[None])[0].numpy()
    first = BEFORE // HOP
    assert BEFORE % HOP == 0
    assert AFTER > BEFORE
    here = features(sound, first_frame=first, n_frames=40)
    assert seen == pytest.approx(here, abs=1e-3)
