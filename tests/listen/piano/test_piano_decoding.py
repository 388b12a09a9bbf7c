"""From the piano network's log odds to notes: where strikes are placed and what is kept."""

import numpy as np
import pytest

from stackline.listen.piano.features import FRAME_RATE_HZ
from stackline.listen.piano.piano_decoding import (
    ONSET,
    SUSTAIN,
    TIME,
    VELOCITY,
    Candidates,
    Rules,
    candidates,
    notes_of,
    sounding,
    struck,
)

RATE = float(FRAME_RATE_HZ)


def _logits(strikes: list[tuple[float, int, float]], n_frames: int = 80) -> np.ndarray:
    """What a sure network says of strikes (frame with fraction, key 0..87, velocity 0..1)."""
    logits = np.full((4, n_frames, 88), -9.0, np.float32)
    logits[TIME] = 0.0
    for place, key, velocity in strikes:
        first = int(place)
        for row in (first, first + 1):
            logits[ONSET, row, key] = 6.0
            logits[TIME, row, key] = np.arctanh(np.clip(place - row, -0.999, 0.999))
            logits[VELOCITY, row, key] = np.log(velocity / (1 - velocity))
        logits[SUSTAIN, first : first + 20, key] = 4.0
    return logits


def _heard(logits: np.ndarray, keep: float = 0.0) -> Candidates:
    found = candidates(logits, 0, slice(0, logits.shape[1]))
    return found.where(found.evidence >= keep)


@pytest.mark.parametrize("place", [3.0, 10.25, 40.5, 70.9])
def test_a_strike_is_placed_between_its_frames(place: float) -> None:
    """The time is the network's own placing, to a thousandth of a frame."""
    found = _heard(_logits([(place, 39, 0.5)]))
    assert found.key.tolist() == [39]
    assert found.time_s[0] * RATE == pytest.approx(place, abs=2e-3)


def test_a_note_lasts_while_its_key_sounds() -> None:
    """The end is where sounding stops; velocity and confidence are those given."""
    logits = _logits([(10.5, 39, 0.5)])
    packed = sounding(logits, slice(0, 80), Rules())
    (note,) = notes_of(_heard(logits), np.array([0.9]), np.array([64]), packed, Rules())
    assert (note.midi, note.velocity, note.confidence) == (60, 64, 0.9)
    assert note.offset_s == pytest.approx(30 / RATE, abs=1e-3)


def test_a_key_struck_again_ends_the_note_before() -> None:
    """Two strikes of one key are two notes that do not overlap."""
    logits = _logits([(10.5, 39, 0.5), (20.5, 39, 0.6)])
    packed = sounding(logits, slice(0, 80), Rules())
    first, second = notes_of(
        _heard(logits), np.array([0.9, 0.8]), np.array([64, 80]), packed, Rules()
    )
    assert first.offset_s == second.onset_s


def test_faint_evidence_is_no_strike() -> None:
    """Below the lowest log odds nothing is a candidate."""
    assert len(_heard(np.full((4, 30, 88), -9.0, np.float32), keep=-20.0).key) == 0


@pytest.mark.parametrize(
    ("keys", "time_s", "kept"),
    [((10,), 0.02, 0), ((10,), 0.5, 1), ((10, 26), 0.02, 2), ((40,), 0.02, 1)],
)
def test_a_low_key_alone_at_the_very_start_is_hum(
    keys: tuple[int, ...], time_s: float, kept: int
) -> None:
    """Mains hum (50 and 60 Hz lie at G1 and B1, keys 10 and 14) sets in with the recording."""
    many = len(keys)
    found = Candidates(
        time_s=np.full(many, time_s), key=np.array(keys), evidence=np.full(many, 5.0),
        velocity=np.full(many, 0.5),
    )  # fmt: skip
    assert struck(found, Rules()).sum() == kept


def test_cutting_does_not_change_candidates() -> None:
    """Chunks with context give the candidates of the whole, each once."""
    rng = np.random.default_rng(5)
    logits = rng.normal(-3, 3, (4, 120, 88)).astype(np.float32)
    whole = candidates(logits, 0, slice(0, 120))
    parts = []
    for start in range(0, 120, 30):
        low, high = max(start - 4, 0), min(start + 34, 120)
        own = slice(start - low, start - low + 30)
        parts.append(candidates(logits[:, low:high], low, own))
    joined = Candidates.joined(parts)
    order = np.lexsort((whole.key, whole.time_s))
    assert joined.key.tolist() == whole.key[order].tolist()
    assert joined.time_s == pytest.approx(whole.time_s[order])
    assert joined.evidence == pytest.approx(whole.evidence[order])
