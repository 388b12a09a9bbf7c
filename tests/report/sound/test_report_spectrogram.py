"""The picture of the sound behind the notes."""

import io
from dataclasses import replace
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from stackline.listen.recording.decode import decode
from stackline.report.contents.chart_labels import pitch_rows
from stackline.report.sound.spectrogram import (
    COLUMNS_PER_S,
    DARKEST_ALPHA,
    HIGHEST,
    LOWEST,
    MOST_COLUMNS,
    RANGE_DB,
    Spectrogram,
    picture,
    strengths,
)
from stackline.shared.notes import Note
from stackline.shared.sound import Audio
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from tests.support.takes.sample_take import sample_take

RATE_HZ = 44100


def tones(path: Path, parts: list[tuple[float, float, float]], duration_s: float) -> None:
    """Sine tones (frequency in Hz, start, end) of equal level."""
    samples = np.zeros(int(duration_s * RATE_HZ))
    for hz, start_s, end_s in parts:
        at = slice(int(start_s * RATE_HZ), int(end_s * RATE_HZ))
        samples[at] += 0.2 * np.sin(2 * np.pi * hz * np.arange(at.stop - at.start) / RATE_HZ)
    soundfile.write(path, samples, RATE_HZ)


def alphas(drawn: Spectrogram) -> np.ndarray:
    """Alpha of each pixel as an independent PNG decoder (FFmpeg's) reads it, low pitch first."""
    with av.open(io.BytesIO(drawn.png), "r") as file:
        frame = next(file.decode(video=0))
    return frame.to_ndarray(format="rgba")[::-1, :, 3]


def drawing(path: Path, low: int, high: int) -> Spectrogram:
    """The picture of a recording, decoded as for a page of five minutes."""
    return picture(strengths(decode(path, 24000)), low, high)


# Frequencies: A4 = 440 Hz, C3 = 130.81 Hz, E5 = 659.26 Hz in equal temperament (MIDI note
# numbers 69, 48, 76; MIDI Tuning Standard).
def test_tones_stand_in_their_rows_and_times(tmp_path: Path) -> None:
    """The darkest row is the tone's semitone, while it sounds and not elsewhere."""
    path = tmp_path / "tones.wav"
    tones(path, [(440.0, 1.0, 3.0), (130.8128, 4.0, 6.0), (659.2551, 7.0, 9.0)], 10.0)
    drawn = drawing(path, 40, 90)
    seen = alphas(drawn)
    assert seen.shape == (drawn.rows, drawn.columns) == (51, 10 * COLUMNS_PER_S)
    for middle_s, midi in ((2.0, 69), (5.0, 48), (8.0, 76)):
        column = seen[:, int(middle_s * COLUMNS_PER_S)]
        assert int(column.argmax()) == midi - 40
        assert column[midi - 40] > 0.85 * DARKEST_ALPHA
    for silent_s in (0.4, 3.5, 6.5, 9.6):
        assert seen[:, int(silent_s * COLUMNS_PER_S)].max() < 0.4 * DARKEST_ALPHA


def test_an_onset_stands_at_its_column(tmp_path: Path) -> None:
    """Strength crosses the half-amplitude step at the onset, to a column or two."""
    path = tmp_path / "onset.wav"
    tones(path, [(440.0, 5.0, 9.0)], 10.0)
    row = alphas(drawing(path, 60, 80))[9]
    half = DARKEST_ALPHA * (1 - 6.02 / RANGE_DB)  # half the amplitude is -6.02 dB
    first = int(np.flatnonzero(row >= half)[0])
    assert first / COLUMNS_PER_S == pytest.approx(5.0, abs=2 / COLUMNS_PER_S)


def test_silence_is_blank(tmp_path: Path) -> None:
    """No noise is made up from nothing."""
    path = tmp_path / "silence.wav"
    soundfile.write(path, np.zeros(RATE_HZ), RATE_HZ)
    assert alphas(drawing(path, 40, 90)).max() == 0


@pytest.mark.parametrize("duration_s", [0.05, 0.3, 7.77])
def test_any_length_gives_a_picture(tmp_path: Path, duration_s: float) -> None:
    """Shorter than a window, or no whole number of columns."""
    path = tmp_path / "short.wav"
    tones(path, [(440.0, 0.0, duration_s)], duration_s)
    drawn = drawing(path, 60, 80)
    seen = alphas(drawn)
    assert seen.shape == (21, drawn.columns)
    assert seen[9].max() == DARKEST_ALPHA


def test_a_long_recording_stays_a_small_picture() -> None:
    """Columns are limited, and stay joined to the time that they show."""
    seconds = 20 * 60
    noise = np.random.default_rng(3).standard_normal(seconds * 11025).astype(np.float32)
    audio = Audio(name="noise", samples=noise, sample_rate_hz=11025, sha256="")
    drawn = picture(strengths(audio), 40, 90)
    assert drawn.columns == MOST_COLUMNS
    assert drawn.columns / drawn.columns_per_s == pytest.approx(seconds)


@pytest.mark.parametrize("midi", [LOWEST_MIDI, HIGHEST_MIDI])
def test_the_whole_piano_fits_the_picture(midi: int) -> None:
    """The rows of a chart with the lowest or the highest key are among those that are measured."""
    note = Note(onset_s=0.0, offset_s=1.0, midi=midi, velocity=64, confidence=1.0)
    low, high = pitch_rows(replace(sample_take(), notes=(note,)))
    assert LOWEST <= low <= midi <= high <= HIGHEST
