"""Levels of partials, read from sines that are known exactly."""

import numpy as np
import pytest

from stackline.listen.general.partials import N_LEVELS, RATIOS, partial_levels
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import LOWEST_MIDI, midi_to_hz

RATE = 22_050
AT_440 = Tuning(offset_cents=0.0, confidence=1.0)
C4 = 60 - LOWEST_MIDI


def recording(
    partials_db: dict[float, float], *, starts_s: float = 1.0, cents: float = 0.0
) -> Audio:
    """Sines at multiples of middle C from a moment on, 3 s in all."""
    times = np.arange(3 * RATE) / RATE
    sound = np.zeros(len(times))
    for ratio, level_db in partials_db.items():
        frequency = ratio * midi_to_hz(60, offset_cents=cents)
        sound += 0.1 * 10 ** (level_db / 20) * np.sin(2 * np.pi * frequency * times)
    sound[times < starts_s] = 0.0
    samples = sound.astype(np.float32)
    return Audio(name="a", samples=samples, sample_rate_hz=RATE, sha256="")


def levels_db(audio: Audio, tuning: Tuning = AT_440, at_s: float = 1.0) -> dict[float, float]:
    """Levels at the ratios of middle C, in dB."""
    found = partial_levels(audio, tuning, np.array([at_s]), np.array([C4]))[0]
    return dict(zip(RATIOS, 60.0 * found[: len(RATIOS)], strict=True))


def test_levels_of_partials_are_read() -> None:
    """Partials at 0, -6, -20 and -40 dB are read to 1.5 dB (a Hann window's scallop loss)."""
    wanted = {1.0: 0.0, 2: -6.0, 3: -20.0, 5: -40.0}
    found = levels_db(recording(wanted))
    for ratio, level in wanted.items():
        assert found[ratio] == pytest.approx(level, abs=1.5)
    assert found[4] < -50
    assert found[1 / 2] < -50


def test_the_octave_below_shows_between_the_partials() -> None:
    """C3 has partials at 1/2, 3/2 and 5/2 of C4; a C4 alone has none there."""
    found = levels_db(recording({ratio / 2: 0.0 for ratio in range(1, 9)}))
    assert min(found[ratio] for ratio in (1 / 2, 3 / 2, 5 / 2)) > -3
    assert found[4 / 3] < -45


@pytest.mark.parametrize("cents", [-55.0, 48.0])
def test_a_mistuned_instrument_is_read_at_its_own_places(cents: float) -> None:
    """The offset moves every place."""
    audio = recording({1: 0.0, 2: -10.0}, cents=cents)
    found = levels_db(audio, Tuning(offset_cents=cents, confidence=1.0))
    assert found[2] == pytest.approx(-10, abs=1.5)


def test_rises_are_against_the_time_before() -> None:
    """A new sound rises by all of its level, one that goes on by nothing."""
    audio = recording({1: 0.0})
    both = partial_levels(audio, AT_440, np.array([1.0, 2.0]), np.array([C4, C4]))
    rise = len(RATIOS)
    assert both[0, rise] == pytest.approx(1.0, abs=0.03)
    assert both[1, rise] == pytest.approx(0.0, abs=0.03)


@pytest.mark.parametrize("at_s", [0.0, 2.99, 3.5])
def test_both_ends_and_beyond(at_s: float) -> None:
    """Finite and in range at sample 0, at the end, past it, for the outermost keys."""
    found = partial_levels(
        recording({1: 0.0}, starts_s=0.0), AT_440, np.array([at_s, at_s]), np.array([0, 87])
    )
    assert found.shape == (2, N_LEVELS)
    assert np.all(np.abs(found) <= 1.0)


def test_order_does_not_matter() -> None:
    """Each candidate is read alone, in whatever order they come."""
    audio = recording({1: 0.0, 3: -9.0})
    times, keys = np.array([2.0, 0.5, 1.0, 1.01]), np.array([C4, 10, C4 + 12, C4])
    together = partial_levels(audio, AT_440, times, keys)
    for index in range(4):
        alone = partial_levels(audio, AT_440, times[index : index + 1], keys[index : index + 1])
        np.testing.assert_array_equal(alone[0], together[index])
