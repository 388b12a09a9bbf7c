"""Awkward files are as awkward as they say, and decoding tells each in one sentence."""

import numpy as np
import pytest
from awkward_files import AWKWARD, RATE_HZ, make

from listen.decode import decode
from listen.ear import silent
from shared.complaint import Complaint


@pytest.mark.parametrize("name", AWKWARD)
def test_decoding_an_awkward_file(name, tmp_path):
    """Either one sentence that names the file, or finite sound at the rate asked for."""
    awkward = AWKWARD[name]
    if not awkward.can_be_made:
        pytest.skip(f"{awkward.needs} is not installed")
    path = make(name, tmp_path)
    if awkward.outcome == "complaint":
        with pytest.raises(Complaint, match=path.name) as caught:
            decode(path, RATE_HZ, silent)
        assert "\n" not in str(caught.value)
        return
    audio = decode(path, RATE_HZ, silent)
    samples = np.asarray(audio.samples[0 : len(audio.samples)])
    assert np.all(np.isfinite(samples))
    assert audio.duration_s > 1.0
    assert (float(np.max(np.abs(samples))) > 0.01) is (name != "silence")


@pytest.mark.parametrize("name", ["one note", "eight channels at 8 kHz", "192 kHz"])
def test_channels_and_rates_change_neither_level_nor_time(name, tmp_path):
    """The note starts after half a second, peaks alike, whatever the file's format."""
    audio = decode(make(name, tmp_path), RATE_HZ, silent)
    samples = np.abs(np.asarray(audio.samples[0 : len(audio.samples)]))
    first = np.argmax(samples > 0.1 * samples.max()) / RATE_HZ
    assert first == pytest.approx(0.5, abs=0.01)
    assert samples.max() == pytest.approx(0.495, rel=0.03)
