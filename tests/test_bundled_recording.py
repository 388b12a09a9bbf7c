"""The main job on the bundled recording, against its exact truth (fixtures/warmup.truth.json)."""

import json
from pathlib import Path

import mir_eval
import numpy as np
import pytest

from report.marks import UNSURE_BELOW
from shared.codec_read import from_json
from shared.codec_write import to_json
from shared.harmony import Voicing
from shared.take import Take, notes_per_beat
from stackline import transcribe
from stackline.demo import bundled_recording
from stackline.ears import DEFAULT_EAR

TRUTH = json.loads(
    (Path(__file__).parent.parent / "fixtures" / "warmup.truth.json").read_text(encoding="utf-8")
)
NEAR_S = 0.1
SURE_AT_LEAST = 0.75


@pytest.fixture(scope="module")
def take() -> Take:
    """The take as `stackline demo` makes it."""
    return transcribe(bundled_recording(), ear=DEFAULT_EAR)


def _played() -> list[dict]:
    """The true attacks that are voicings, passing shapes included."""
    return [attack for attack in TRUTH["attacks"] if attack["role"] != "root"]


def _heard_at(take: Take, onset_s: float) -> Voicing | None:
    near = [v for v in take.voicings if abs(v.attack.onset_s - onset_s) < NEAR_S]
    return min(near, key=lambda v: abs(v.attack.onset_s - onset_s)) if near else None


def _struck(voicing: Voicing) -> list[int]:
    return [note.midi for note in voicing.attack.struck]


def test_every_voicing_is_exact_or_marked_as_unsure(take: Take) -> None:
    """No confident wrong note, nothing missed, and most are sure."""
    sure = 0
    for attack in _played():
        heard = _heard_at(take, attack["onset_s"])
        assert heard is not None, f"nothing heard at {attack['onset_s']}"
        if heard.confidence >= UNSURE_BELOW:
            sure += 1
            assert _struck(heard) == attack["struck"], (attack["bar"], attack["beat"])
    assert sure >= SURE_AT_LEAST * len(_played())


def test_no_voicing_is_heard_where_none_was_played(take: Take) -> None:
    """What is told for sure was struck then."""
    onsets = [attack["onset_s"] for attack in TRUTH["attacks"]]
    for voicing in take.voicings:
        if voicing.confidence >= UNSURE_BELOW:
            assert min(abs(voicing.attack.onset_s - one) for one in onsets) < NEAR_S


def test_the_resolution_that_goes_astray_is_the_only_one_not_landed(take: Take) -> None:
    """The b9 of Db13(b9) in bar 5 goes up to the 13; all others land."""
    outcomes = [
        (take.voicings[motion.from_index].chord.symbol.text, str(one.degree), str(one.to))
        for motion in take.motions
        for one in motion.resolutions
        if one.outcome == "not landed"
    ]
    assert outcomes == [("Db13(b9)", "b9", "13")]


def test_chords_are_named_as_in_the_score(take: Take) -> None:
    """Harte roots and sevenths of the true changes, weighed by time (mir_eval.chord)."""
    rows = [(v.attack.onset_s, v.chord.symbol.harte) for v in take.voicings]
    right = total = 0
    for attack in _played():
        if attack["role"] != "voicing":
            continue
        heard = _heard_at(take, attack["onset_s"])
        assert heard is not None
        root, *_ = mir_eval.chord.encode(heard.chord.symbol.harte)
        name = attack["chord"]
        written = name[:2] if name[1:2] in {"b", "#"} else name[:1]
        right += mir_eval.chord.pitch_class_to_semitone(written) == root
        total += 1
    assert rows
    assert right >= 0.9 * total


def test_notes_are_right_by_a_general_measure(take: Take) -> None:
    """mir_eval.transcription, onsets within 50 ms, no offsets: F-measure at least 0.95."""
    true = [note for attack in TRUTH["attacks"] for note in attack["notes"]]
    intervals = np.array([[note["onset_s"], note["offset_s"]] for note in true])
    heard = np.array(
        [[note.onset_s, max(note.offset_s, note.onset_s + 0.01)] for note in take.notes]
    )
    _, _, f_measure, _ = mir_eval.transcription.precision_recall_f1_overlap(
        intervals,
        440 * 2 ** ((np.array([note["midi"] for note in true]) - 69) / 12),
        heard,
        440 * 2 ** ((np.array([note.midi for note in take.notes]) - 69) / 12),
        onset_tolerance=0.05,
        offset_ratio=None,
    )
    assert f_measure >= 0.95


def test_beats_and_tempo_are_those_of_the_score(take: Take) -> None:
    """mir_eval.beat, 70 ms; the tempo within 4 %."""
    true = np.array([beat["time_s"] for beat in TRUTH["beats"]])
    heard = np.array([beat.time_s for beat in take.grid.beats])
    within = heard[(heard >= true[0] - 0.1) & (heard <= true[-1] + 0.1)]
    assert mir_eval.beat.f_measure(true, within) >= 0.9
    assert take.grid.tempo_bpm == pytest.approx(TRUTH["tempo_bpm"], rel=0.04)


def test_the_instrument_is_heard_flat(take: Take) -> None:
    """The recording is eight cents flat, and a sampled piano is stretched by a few more."""
    assert take.tuning_cents == pytest.approx(TRUTH["tuning_cents"], abs=8)


def test_the_take_survives_its_json_and_lists_notes_beat_by_beat(take: Take) -> None:
    """A real take round-trips, and its beats hold every struck note that has a place."""
    assert from_json(to_json(take)) == take
    listed = sum(len(row.notes) for row in notes_per_beat(take))
    placed = sum(len(attack.struck) for attack in take.attacks if attack.position is not None)
    assert listed == placed > 0
