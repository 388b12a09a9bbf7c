import librosa
import numpy as np
import pytest

from stackline.listen.recording.decode import decode
from stackline.listen.recording.tuning import PITCHED, Retuning, estimate_tuning
from stackline.shared.complaint import Complaint
from stackline.shared.sound import Audio, Tuning
from tests.support.places import ROOT
from tests.support.sound.sounds import chords, sine

RATE = 22_050
TURNAROUND = [(0.2, (53, 57, 60, 64)), (1.2, (53, 58, 62, 65)), (2.2, (52, 58, 62, 67))]


def audio(sound: np.ndarray, rate_hz: int = RATE) -> Audio:
    """Sound as a record."""
    return Audio(
        name="a", samples=sound.astype(np.float32), sample_rate_hz=rate_hz, sha256="0" * 64
    )


def tuned(a_hz: float) -> np.ndarray:
    """Three chords of exact harmonics at A = a_hz."""
    cents = 1200 * np.log2(a_hz / 440)
    played = [(at, [midi + cents / 100 for midi in midis]) for at, midis in TURNAROUND]
    return chords(played, duration_s=3.2, rate_hz=RATE)


@pytest.mark.parametrize("a_hz", [428, 432, 435, 438, 440, 442, 446, 450, 452])
def test_three_chords_give_the_tuning_to_two_cents(a_hz: float) -> None:
    """1200 * log2(a / 440) cents, the definition, for any A within half a semitone."""
    found = estimate_tuning(audio(tuned(a_hz)))
    assert found.offset_cents == pytest.approx(1200 * np.log2(a_hz / 440), abs=2)
    assert found.confidence > 0.5


@pytest.mark.parametrize("a_hz", [428, 435, 440, 446, 452])
def test_it_agrees_with_librosas_estimate_and_is_nearer(a_hz: float) -> None:
    """librosa.estimate_tuning, in steps of a cent, errs by up to 4 cents on the same sound."""
    sound, true = tuned(a_hz), 1200 * np.log2(a_hz / 440)
    theirs = 100 * librosa.estimate_tuning(y=sound.astype(np.float32), sr=RATE)
    ours = estimate_tuning(audio(sound)).offset_cents
    assert ours == pytest.approx(theirs, abs=5)
    assert abs(ours - true) <= abs(theirs - true) + 0.5


def test_the_bundled_recording_is_tuned_as_librosa_hears_it() -> None:
    """A sampled piano; its own samples are not at A = 440 Hz, so that only the two can agree."""
    heard = decode(ROOT / "fixtures" / "warmup.m4a", RATE)
    sound = np.array(heard.samples[0 : len(heard.samples)])
    ours = estimate_tuning(heard).offset_cents
    assert ours == pytest.approx(100 * librosa.estimate_tuning(y=sound, sr=RATE), abs=3)


@pytest.mark.parametrize("a_hz", [425, 427, 453, 455, 460])
def test_beyond_half_a_semitone_the_player_s_a_decides(a_hz: float) -> None:
    """With the expected A the offset is beyond 50 cents; without, a semitone away from it."""
    cents = 1200 * np.log2(a_hz / 440)
    told = estimate_tuning(audio(tuned(a_hz)), expected_a_hz=a_hz)
    assert told.offset_cents == pytest.approx(cents, abs=2)
    alone = estimate_tuning(audio(tuned(a_hz)))
    assert alone.offset_cents == pytest.approx(cents - 100 * np.sign(cents), abs=2)


def test_an_impossible_a_is_refused() -> None:
    """The sentence says what is allowed."""
    with pytest.raises(Complaint, match="A = 300 Hz is no tuning; give A between 400 and 480 Hz"):
        estimate_tuning(audio(tuned(440)), expected_a_hz=300)


@pytest.mark.parametrize("length", [0, 1, 100, RATE])
def test_silence_has_no_tuning(length: int) -> None:
    """No pitch: offset 0, confidence 0."""
    assert estimate_tuning(audio(np.zeros(length))) == Tuning(offset_cents=0.0, confidence=0.0)


def test_noise_is_not_trusted() -> None:
    """Peaks of noise agree on nothing."""
    noise = 0.1 * np.random.default_rng(0).standard_normal(20 * RATE)
    assert estimate_tuning(audio(noise)).confidence < PITCHED


@pytest.mark.parametrize("cents", [-58.0, -20.0, 20.0, 58.0])
def test_retuned_sound_is_at_440(cents: float) -> None:
    """A sine that is sharp by the offset becomes 440 Hz when played at the usual rate."""
    frequency = 440 * 2 ** (cents / 1200)
    sound = sine(frequency, 25.0, RATE).astype(np.float32)
    retuning = Retuning.of(Tuning(offset_cents=cents, confidence=1.0), RATE)
    blocks = np.concatenate(list(retuning.blocks(sound)))
    assert abs(len(blocks) - retuning.length(sound)) <= 1
    heard = frequency * RATE / retuning.read_hz
    assert abs(1200 * np.log2(heard / 440)) < 0.05
    expected = sine(heard, len(blocks) / RATE, RATE)[5000 : len(blocks) - 5000]
    np.testing.assert_allclose(blocks[5000:-5000], expected, atol=1e-4)


@pytest.mark.parametrize(
    "tuning",
    [Tuning(offset_cents=2.0, confidence=1.0), Tuning(offset_cents=40.0, confidence=0.0)],
)
def test_small_or_unsure_offsets_change_nothing(tuning: Tuning) -> None:
    """The recording is read as it is."""
    sound = sine(440, 12.0, RATE).astype(np.float32)
    blocks = np.concatenate(list(Retuning.of(tuning, RATE).blocks(sound)))
    np.testing.assert_array_equal(blocks, sound)
