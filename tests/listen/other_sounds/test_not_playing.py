"""Talk, applause and noise between chords: found, kept out, and nothing else touched.

The piano is the bundled recording, whose notes are known; talk is spoken by espeak-ng.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from fixtures.sounded import conditions
from fixtures.sounded.company import has_speech, speech
from stackline.commands.demo_command import bundled_recording
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.other_sounds import not_playing
from stackline.listen.other_sounds.not_playing import sort_out, spans_of
from stackline.listen.other_sounds.texture import HOP_S, N_INPUTS, STEP_S, frames, windows
from stackline.listen.piano.piano_ear import PianoEar
from stackline.listen.recording.decode import decode
from stackline.listen.recording.tuning import estimate_tuning
from stackline.shared.notes import Note, Span
from stackline.shared.sound import Audio

RATE = 16_000
SECONDS = 7.0

needs_speech = pytest.mark.skipif(not has_speech(), reason="espeak-ng is not installed")


@pytest.fixture(scope="module")
def piano() -> np.ndarray:
    """Half a minute of the bundled recording."""
    return np.array(decode(bundled_recording(), RATE).samples[: 30 * RATE])


def _audio(sound: np.ndarray) -> Audio:
    return Audio(name="x", samples=sound.astype(np.float32), sample_rate_hz=RATE, sha256="")


def _heard(sound: np.ndarray) -> tuple[Note, ...]:
    audio = _audio(sound)
    return PianoEar().hear(audio, estimate_tuning(audio), lambda stage, part: None)


def _followed_by(piano: np.ndarray, other: np.ndarray, level_db: float) -> np.ndarray:
    """The piano, and after it something else at a level against it."""
    gain = conditions.rms(piano) / conditions.rms(other) * 10 ** (level_db / 20)
    return np.concatenate([piano, gain * other])


def test_piano_alone_has_no_grey_and_keeps_its_notes(piano: np.ndarray) -> None:
    """Nothing is found in a clean recording; notes and confidences are what they were."""
    notes = _heard(piano)
    kept, spans = sort_out(_audio(piano), notes)
    assert len(notes) > 20
    assert spans == ()
    assert kept == notes


@needs_speech
@pytest.mark.parametrize("level_db", [-12.0, -3.0])
def test_talk_after_the_chords_is_found(piano: np.ndarray, level_db: float) -> None:
    """Seven seconds of talk become talk; what was played before is as it was."""
    talk = speech(np.random.default_rng(2), round(SECONDS * RATE), RATE)
    sound = _followed_by(piano, talk, level_db)
    kept, spans = sort_out(_audio(sound), _heard(sound))
    assert {span.kind for span in spans} == {"talk"}
    assert sum(span.end_s - span.start_s for span in spans) > 0.75 * SECONDS
    assert min(span.start_s for span in spans) > 29.0
    assert all(note.onset_s < 30.0 for note in kept)


@needs_speech
@pytest.mark.parametrize("level_db", [-12.0, 0.0])
def test_talk_over_the_playing_is_playing(piano: np.ndarray, level_db: float) -> None:
    """No chord that is kept begins inside a span, however loud the talk."""
    talk = speech(np.random.default_rng(3), len(piano), RATE)[: len(piano)]
    sound = conditions.mixed(piano, talk, level_db=level_db)
    kept, spans = sort_out(_audio(sound), _heard(sound))
    attacks = find_attacks(kept)
    assert len(attacks) > 10
    for attack in attacks:
        assert not [one for one in spans if one.start_s <= attack.onset_s < one.end_s]
    assert all(one.end_s - one.start_s >= 0.7 for one in spans)


@pytest.mark.parametrize(
    ("make", "kind"), [(conditions.applause, "applause"), (conditions.hiss, "not playing")]
)
def test_applause_and_noise_are_found(
    piano: np.ndarray, make: Callable[[np.random.Generator, int, int], np.ndarray], kind: str
) -> None:
    """Applause is called so; a burst of noise after the music is only said not to be playing."""
    other = make(np.random.default_rng(2), round(SECONDS * RATE), RATE)
    sound = _followed_by(piano, other, -6.0)
    _, spans = sort_out(_audio(sound), _heard(sound))
    grey = sum(span.end_s - span.start_s for span in spans)
    assert grey > 0.75 * SECONDS
    assert sum(span.end_s - span.start_s for span in spans if span.kind == kind) > 0.5 * grey


def test_a_constant_floor_of_noise_is_no_span(piano: np.ndarray) -> None:
    """Hiss and hum under everything belong to the recording."""
    rng = np.random.default_rng(4)
    for make in (conditions.hiss, conditions.hum):
        sound = conditions.mixed(piano, make(rng, len(piano), RATE), level_db=-30.0)
        assert sort_out(_audio(sound), _heard(sound))[1] == ()


@pytest.mark.parametrize("sound", [np.zeros(0), np.zeros(100), np.zeros(5 * RATE)])
def test_silence_is_nothing(sound: np.ndarray) -> None:
    """Silence, however short, gives no span and no fault."""
    assert sort_out(_audio(sound), ()) == ((), ())


def test_the_result_does_not_depend_on_blocks(
    piano: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Measured in small blocks or at once, frames are the same."""
    whole = frames(_audio(piano[: 8 * RATE]))
    monkeypatch.setattr("stackline.listen.other_sounds.texture._BLOCK", 37)
    np.testing.assert_allclose(frames(_audio(piano[: 8 * RATE])), whole, atol=1e-5)


def test_gain_says_nothing(piano: np.ndarray) -> None:
    """A recording 20 dB lower has the same texture."""
    sound = piano[: 8 * RATE]
    np.testing.assert_allclose(frames(_audio(sound / 10)), frames(_audio(sound)), atol=1e-3)


def test_windows_stand_a_quarter_second_apart(piano: np.ndarray) -> None:
    """One window every STEP_S, whatever the length."""
    for seconds in (0.5, 3.3):
        measured = frames(_audio(piano[: round(seconds * RATE)]))
        assert len(measured) == int(seconds / HOP_S) + 1
        found = windows(measured, ())
        assert found.shape == (-(-len(measured) // round(STEP_S / HOP_S)), N_INPUTS)


def _logs(kinds: str) -> np.ndarray:
    """Sure answers: p(laying), t(alk), a(pplause), n(ot playing), a letter a window."""
    chances = np.full((len(kinds), 4), 0.001)
    for row, letter in enumerate(kinds):
        chances[row, "ptan".index(letter)] = 0.997
    return np.log(chances)


def test_spans_are_runs_of_one_answer() -> None:
    """Times are those of the windows' edges."""
    (span,) = spans_of(_logs("pppp" + "tttttttt" + "pppppp"), 100.0)
    assert span.kind == "talk"
    assert span.start_s == pytest.approx(3.5 * STEP_S, abs=1e-3)
    assert span.end_s == pytest.approx(11.5 * STEP_S, abs=1e-3)


def test_a_breath_does_not_end_a_talk_and_a_blink_begins_none() -> None:
    """Short silences inside are bridged, a single window of another answer is passed over."""
    breath = _logs("pppp" + "tttttt" + "ppp" + "tttttt" + "pppp")
    assert len(spans_of(breath, 100.0)) == 1
    pause = _logs("pppp" + "tttttt" + "pppppppp" + "tttttt" + "pppp")
    assert len(spans_of(pause, 100.0)) == 2
    assert spans_of(_logs("pppppptpppppp"), 100.0) == ()


def _note(onset_s: float, midi: int, confidence: float, lasts_s: float) -> Note:
    return Note(
        onset_s=onset_s, offset_s=onset_s + lasts_s, midi=midi, velocity=60, confidence=confidence
    )


@pytest.fixture
def talk_from_five(monkeypatch: pytest.MonkeyPatch) -> Span:
    """Whatever the sound, talk is found from 5 s to 15 s."""
    span = Span(start_s=5.0, end_s=15.0, kind="talk")
    monkeypatch.setattr(not_playing, "spans_of", lambda logs, duration_s: (span,))
    return span


def test_a_short_lone_note_in_talk_is_taken_out(talk_from_five: Span) -> None:
    """A vowel goes; the same note before the talk stays as it is."""
    before, vowel = _note(1.0, 60, 0.9, 0.1), _note(7.0, 60, 0.9, 0.1)
    kept, spans = sort_out(_audio(np.zeros(20 * RATE)), (before, vowel))
    assert kept == (before,)
    assert spans == (talk_from_five,)


@pytest.mark.parametrize(
    "chord",
    [
        [_note(8.0, midi, 0.85, 0.1) for midi in (53, 57, 60, 64)],  # a chord, short
        [_note(8.0, 40, 0.9, 1.5)],  # a root that rings
        [_note(8.0, 72, 0.99, 0.1)],  # a touch that the ear is sure of
    ],
)
def test_what_is_played_under_talk_stays_and_is_less_certain(
    talk_from_five: Span, chord: list[Note]
) -> None:
    """Every note is kept at its place, each with a lower confidence."""
    assert talk_from_five.start_s < chord[0].onset_s < talk_from_five.end_s
    kept, _ = sort_out(_audio(np.zeros(20 * RATE)), chord)
    assert [(note.onset_s, note.midi) for note in kept] == [(n.onset_s, n.midi) for n in chord]
    assert all(a.confidence < b.confidence for a, b in zip(kept, chord, strict=True))
    assert [replace(note, confidence=0.5) for note in kept] == [
        replace(note, confidence=0.5) for note in chord
    ]


def test_every_note_is_still_in_one_attack_after_sorting(talk_from_five: Span) -> None:
    """Sorting out keeps the order that attacks are found in."""
    notes = [_note(4.0 + 0.7 * i, 50 + i % 5, 0.995, 0.5) for i in range(12)]
    kept, _ = sort_out(_audio(np.zeros(20 * RATE)), notes)
    assert len(kept) == 12
    assert [note for one in find_attacks(kept) for note in one.struck] == list(kept)
    assert talk_from_five.kind == "talk"
