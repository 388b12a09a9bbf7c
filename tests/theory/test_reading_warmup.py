"""The bundled recording's true notes, read: names and resolutions against the written truth."""

import json
from pathlib import Path

import pytest

from fixtures import make_audio
from stackline.listen.attacks.attacks import find_attacks
from stackline.shared.harmony import ChordSymbol
from stackline.shared.notes import BeatGrid, Note
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.chords.symbols import parse_symbol
from stackline.theory.labelling.reasons import NOTES_FIT, SAME_NOTES
from stackline.theory.reading import Reading, read

TRUTH = json.loads(
    (Path(make_audio.__file__).parent / "warmup.truth.json").read_text(encoding="utf-8")
)


@pytest.fixture(scope="module")
def reading() -> Reading:
    """The reading of the true notes."""
    notes = [
        Note(onset_s=n["onset_s"], offset_s=n["offset_s"], midi=n["midi"], velocity=n["velocity"],
             confidence=1.0)
        for attack in TRUTH["attacks"] for n in attack["notes"]
    ]  # fmt: skip
    return read(find_attacks(notes), BeatGrid(), end_s=TRUTH["duration_s"])


def same(symbol: ChordSymbol, text: str) -> bool:
    """Equal root and family."""
    other = parse_symbol(text)
    return (
        pitch_class_of(symbol.root) == pitch_class_of(other.root)
        and quality(symbol.quality).family == quality(other.quality).family
    )


def test_every_voicing_has_its_true_name_or_a_stated_equivalent(reading: Reading) -> None:
    """Root and family of the score, first or among alternatives said to be the same notes."""
    by_onset = {v.attack.onset_s: v for v in reading.voicings}
    played = [a for a in TRUTH["attacks"] if a["role"] == "voicing"]
    for attack in played:
        chord = by_onset[attack["onset_s"]].chord
        stated = [
            one.symbol for one in chord.alternatives
            if one.reason.startswith((SAME_NOTES, NOTES_FIT))
        ]  # fmt: skip
        assert any(same(s, attack["chord"]) for s in (chord.symbol, *stated)), attack["bar"]
    first = [same(by_onset[a["onset_s"]].chord.symbol, a["chord"]) for a in played]
    assert sum(first) >= len(first) - 1


def test_resolutions_are_those_of_the_score(reading: Reading) -> None:
    """Each one by chord, degree and pitch; the b9 that goes astray is the only one not landed."""
    found = [
        (str(one.degree), one.midi, one.outcome == "landed")
        for move in reading.motions
        for one in move.resolutions
    ]
    assert found == [(d["degree"], d["midi"], d["landed"]) for d in TRUTH["resolutions"]]
    missed = [o for move in reading.motions for o in move.resolutions if o.outcome != "landed"]
    assert [one.outcome for one in missed] == ["not landed"]
