"""The piano ear on sound: chords of made strings, nobody playing, chunks, and its weights.

Tones are sums of partials of a stiff string, ``k f0 sqrt(1 + B k^2)`` (Fletcher, J. Acoust.
Soc. Am. 36, 1964), with levels falling and higher partials decaying faster.
"""

import hashlib
import json
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.ear import Ear, silent
from stackline.listen.piano import piano_ear
from stackline.listen.piano.piano_ear import WEIGHTS, PianoEar, loudness_gain
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import midi_to_hz

RATE = 16_000
IN_TUNE = Tuning(offset_cents=0.0, confidence=1.0)


def _tone(midi: int, seconds: float) -> np.ndarray:
    t = np.arange(round(seconds * RATE)) / RATE
    f0, sound = midi_to_hz(midi), np.zeros(len(t))
    for k in range(1, 16):
        hz = k * f0 * np.sqrt(1 + 4e-4 * k * k)
        if hz < 7500:
            level = 0.1 * k**-1.2 * (0.3 + abs(np.sin(np.pi * k / 8)))
            sound += level * np.exp(-(0.8 + 0.25 * k) * t) * np.sin(2 * np.pi * hz * t + k)
    return sound * (1 - np.exp(-t / 0.001)) * np.clip((seconds - t) / 0.05, 0, 1)


def _played(chords: Sequence[tuple[float, tuple[int, ...]]], seconds: float) -> np.ndarray:
    """Chords; a key that is struck again stops what its own string did (it has one)."""
    sound = np.zeros(round(seconds * RATE), np.float32)
    for onset_s, keys in chords:
        start = round(onset_s * RATE)
        for key in keys:
            again = [at - onset_s for at, others in chords if at > onset_s and key in others]
            tone = _tone(key, min(1.6, seconds - onset_s, *again))
            sound[start : start + len(tone)] += tone.astype(np.float32)
    return sound + np.random.default_rng(0).normal(0, 1e-4, len(sound)).astype(np.float32)


def _audio(samples: np.ndarray) -> Audio:
    return Audio(name="made", samples=samples, sample_rate_hz=RATE, sha256="")


CHORDS = [(0.5, (53, 57, 60, 64)), (2.3, (52, 58, 62, 65)), (4.15, (50, 54, 57, 60, 64))]


@pytest.fixture(scope="module")
def ear() -> PianoEar:
    """One ear for all tests of this file."""
    return PianoEar()


def test_it_is_an_ear(ear: PianoEar) -> None:
    """It has the shape of every ear and names itself with a version."""
    one: Ear = ear
    assert one.sample_rate_hz == RATE
    assert one.name.startswith("piano ")


def test_chords_are_heard_exactly(ear: PianoEar) -> None:
    """Each chord's keys, no others, within 15 ms of where they were struck."""
    notes = ear.hear(_audio(_played(CHORDS, 6.5)), IN_TUNE, silent)
    for onset_s, keys in CHORDS:
        near = [note for note in notes if abs(note.onset_s - onset_s) < 0.3]
        assert tuple(note.midi for note in sorted(near, key=lambda n: n.midi)) == keys
        assert max(abs(note.onset_s - onset_s) for note in near) < 0.015
    assert len(notes) == sum(len(keys) for _, keys in CHORDS)


def test_notes_come_in_order_and_no_key_sounds_twice_at_once(ear: PianoEar) -> None:
    """By onset, then pitch; a key's next strike ends the note before."""
    again = [(0.4 + 0.35 * i, (48, 55, 64)) for i in range(8)]
    notes = ear.hear(_audio(_played(again, 4.5)), IN_TUNE, silent)
    assert [(n.onset_s, n.midi) for n in notes] == sorted((n.onset_s, n.midi) for n in notes)
    for key in (48, 55, 64):
        mine = [note for note in notes if note.midi == key]
        assert len(mine) == 8
        assert all(one.offset_s <= two.onset_s for one, two in pairwise(mine))


def test_loudness_of_the_recording_does_not_matter(ear: PianoEar) -> None:
    """The same take 30 dB softer has the same keys."""
    sound = _played(CHORDS, 6.5)
    loud, soft = (ear.hear(_audio(sound * gain), IN_TUNE, silent) for gain in (1.0, 0.03))
    struck = [[[note.midi for note in one.struck] for one in find_attacks(x)] for x in (loud, soft)]
    assert struck[0] == struck[1]


def test_chunks_leave_no_trace(ear: PianoEar) -> None:
    """Small chunks give the log odds of the whole, to rounding."""
    audio = _audio(_played(CHORDS, 6.5))

    def own(chunk: int) -> np.ndarray:
        parts = ear.answers(audio, IN_TUNE, silent, chunk)
        return np.concatenate([part.logits[:, part.own] for part in parts], axis=1)

    whole = own(10_000)
    assert whole.shape[1] == len(audio.samples) // 512 + 1
    for chunk in (40, 97):
        assert np.abs(own(chunk) - whole).max() < 2e-3


@pytest.mark.parametrize("kind", ["nothing", "silence", "hiss", "short"])
def test_nobody_playing_gives_no_notes(ear: PianoEar, kind: str) -> None:
    """Silence, hiss and recordings of no length give no notes and no error."""
    rng = np.random.default_rng(3)
    sounds = {
        "nothing": np.zeros(0),
        "silence": np.zeros(5 * RATE),
        "hiss": rng.normal(0, 0.02, 8 * RATE),
        "short": np.zeros(7),
    }
    nothing = Tuning(offset_cents=0.0, confidence=0.0)
    assert ear.hear(_audio(sounds[kind].astype(np.float32)), nothing, silent) == ()


def test_a_gain_has_a_limit() -> None:
    """Near silence is not blown up: 40 dB at most."""
    assert loudness_gain(np.full(64_000, 1e-7, np.float32)) == pytest.approx(100.0)
    assert loudness_gain(np.full(64_000, 0.09, np.float32)) == pytest.approx(1.0, rel=1e-3)


def test_the_weights_are_those_of_the_card() -> None:
    """The file's sha256 stands in its card; it weighs at most 4 MB."""
    data = WEIGHTS.read_bytes()
    card = json.loads(WEIGHTS.with_suffix(".json").read_text(encoding="utf-8"))
    assert card["sha256"] == hashlib.sha256(data).hexdigest()
    assert card["bytes"] == len(data) <= 4_000_000
    assert card["frames_seen_on_each_side"] == piano_ear._SEEN
