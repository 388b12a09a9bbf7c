"""The bundled recording, its score and its truth belong together."""

import json
from itertools import pairwise
from pathlib import Path

import music21
import numpy as np
import pytest
from made_bank import write_bank

from bench.free_voicings import is_playable
from bench.scoring import match_attacks
from fixtures import make_audio
from fixtures.warmup import CHANGES, RESOLUTIONS, SCORE
from listen.attacks import find_attacks
from listen.decode import decode
from listen.ear import silent
from shared.complaint import Complaint
from shared.notes import Note
from theory.qualities import quality
from theory.symbols import parse_symbol
from training.bank import load_bank

HERE = Path(make_audio.__file__).parent
RECORDING = HERE / "warmup.m4a"
TRUTH = json.loads((HERE / "warmup.truth.json").read_text(encoding="utf-8"))

# Semitones of degrees above the root (any harmony textbook).
SEMITONES = {
    "R": 0, "b9": 1, "9": 2, "#9": 3, "b3": 3, "3": 4, "5": 7, "b13": 8, "13": 9, "6": 9,
    "b7": 10, "7": 11,
}  # fmt: skip


def _root_pc(chord: str) -> int:
    """A symbol's root as a pitch class, by music21 (its flat is "-")."""
    name = chord[:2] if chord[1] in "b#" else chord[:1]
    return music21.pitch.Pitch(name.replace("b", "-")).pitchClass


def test_truth_is_what_the_score_plays():
    """The truth on disk is made from this score and this seed; else run fixtures.make_audio."""
    played = make_audio.perform()
    assert [a["struck"] for a in TRUTH["attacks"]] == [list(one.pitches) for one in played]
    assert [a["notes"] for a in TRUTH["attacks"]] == [
        [note.__dict__ for note in one.notes] for one in played
    ]
    assert TRUTH["resolutions"] == [due.__dict__ for due in RESOLUTIONS]


def test_every_voicing_spells_its_chord():
    """Each voicing's notes are tones of its symbol; a passing shape's are not."""
    for gesture in SCORE:
        symbol = parse_symbol(gesture.chord)
        chord = music21.pitch.Pitch(symbol.root.replace("b", "-")).pitchClass
        inside = {(chord + step) % 12 for step in quality(symbol.quality).intervals}
        spelled = {pitch % 12 for pitch in gesture.pitches} <= inside
        assert spelled is (gesture.role != "passing"), gesture


def test_two_hands_can_play_it_and_the_score_is_in_order():
    """Reaches of a tenth at most, and no attack before the one ahead of it."""
    assert all(is_playable(gesture.pitches) for gesture in SCORE)
    starts = [gesture.beats_from_start for gesture in SCORE]
    assert all(a < b for a, b in pairwise(starts))


def test_resolutions_name_the_degrees_that_sound():
    """Degrees over the roots, by music21's pitch classes; both ends sound in the score."""
    for due in RESOLUTIONS:
        assert (due.midi - _root_pc(due.dominant)) % 12 == SEMITONES[due.degree]
        assert (due.to_midi - _root_pc(due.next_chord)) % 12 == SEMITONES[due.to]
        bars = {g.bar for g in SCORE if due.midi in g.pitches and g.chord == due.dominant}
        assert due.bar in bars
        assert any(due.to_midi in g.pitches and g.chord == due.next_chord for g in SCORE)


def test_exactly_one_resolution_goes_astray():
    """The b9 that should fall a half step to the 5 and rises, and there is no 5 to fall to."""
    (missed,) = [due for due in RESOLUTIONS if not due.landed]
    assert (missed.degree, missed.to_midi - missed.midi) == ("b9", 1)
    five = (_root_pc(missed.next_chord) + 7) % 12
    after = [g for g in SCORE if g.chord == missed.next_chord and g.role == "voicing"]
    assert all(pitch % 12 != five for gesture in after for pitch in gesture.pitches)
    landed = [due for due in RESOLUTIONS if due.landed and due.degree in ("b9", "b7")]
    assert all(-2 <= due.to_midi - due.midi <= -1 for due in landed)


def test_beats_are_steady_and_changes_stand_on_them():
    """Twelve bars of four at 76 beats a minute."""
    times = [beat["time_s"] for beat in TRUTH["beats"]]
    assert np.diff(times) == pytest.approx(60 / 76, abs=2e-4)
    assert [beat["number"] for beat in TRUTH["beats"]] == [1, 2, 3, 4] * 12
    assert [change["chord"] for change in TRUTH["changes"]] == [one.chord for one in CHANGES]
    assert all(min(abs(t - c["start_s"]) for t in times) < 1e-3 for c in TRUTH["changes"])


def test_attacks_follow_from_the_notes_alone():
    """Our rule for attacks finds the written ones in the true notes."""
    notes = [
        Note(onset_s=n["onset_s"], offset_s=n["offset_s"], midi=n["midi"], velocity=n["velocity"],
             confidence=1.0)
        for attack in TRUTH["attacks"] for n in attack["notes"]
    ]  # fmt: skip
    found = find_attacks(notes)
    assert [[n.midi for n in a.struck] for a in found] == [a["struck"] for a in TRUTH["attacks"]]
    assert match_attacks(make_audio.perform(), found) == tuple(range(len(found)))


def test_the_recording_is_small_and_as_long_as_its_truth():
    """A phone's file: AAC in m4a, under 700 kB."""
    assert RECORDING.stat().st_size < 700_000
    audio = decode(RECORDING, 16_000, silent)
    assert audio.duration_s == pytest.approx(TRUTH["duration_s"], abs=0.05)


def test_every_attack_can_be_seen_in_the_sound():
    """Around each true onset the level of the struck keys' partials rises by 6 dB or more."""
    audio = decode(RECORDING, 16_000, silent)
    samples = np.asarray(audio.samples[0 : len(audio.samples)])
    for attack in TRUTH["attacks"]:
        rises = [_rise_db(samples, note) for note in attack["notes"]]
        assert max(rises) > 6.0, attack["bar"]
        assert np.median(rises) > 0.0, attack["bar"]


def _rise_db(samples: np.ndarray, note: dict) -> float:
    """Strongest rise over a key's first six partials, 0.1 s after against 0.1 s before."""
    start, size = round(note["onset_s"] * 16_000), 1_600
    f0 = 440 * 2 ** ((note["midi"] - 69 + TRUTH["tuning_cents"] / 100) / 12)
    partials = f0 * np.arange(1, 7)
    kernel = np.exp(-2j * np.pi / 16_000 * np.outer(partials, np.arange(size)))
    window = np.hanning(size)
    after = np.abs(kernel @ (samples[start + 80 : start + 80 + size] * window))
    before = np.abs(kernel @ (samples[start - 80 - size : start - 80] * window))
    return float(np.max(20 * np.log10((after + 1e-3) / (before + 1e-3))))


def test_only_free_samples_are_bundled(tmp_path):
    """The instrument's licence is checked when the recording is made, and written down."""
    assert TRUTH["instrument"]["licence"] in make_audio.FREE_LICENCES
    folder = write_bank(tmp_path / "bank")
    manifest = folder / "instruments.json"
    data = json.loads(manifest.read_text(encoding="utf-8"))
    data["instruments"]["kw"] = data["instruments"].pop("other_piano") | {"licence": "CC-BY-4.0"}
    manifest.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(Complaint, match=r"kw is CC-BY-4\.0"):
        make_audio.record(make_audio.perform(), load_bank(folder, split="train"))


def test_the_same_bank_gives_the_same_file(tmp_path):
    """Made twice, equal to the last byte: no dates, no chance."""
    folder = write_bank(tmp_path / "bank")
    text = (folder / "instruments.json").read_text(encoding="utf-8")
    (folder / "instruments.json").write_text(text.replace('other_piano":', 'kw":'), "utf-8")
    bank = load_bank(folder, split="train")
    sound = make_audio.record(make_audio.perform(), bank)
    paths = [tmp_path / "a.m4a", tmp_path / "b.m4a"]
    for path in paths:
        make_audio.write_m4a(path, sound, bank.sample_rate_hz)
    assert paths[0].read_bytes() == paths[1].read_bytes()
